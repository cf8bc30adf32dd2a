#pragma once

#include <string>

#include "config/config.h"
#include "config/problem.h"

namespace limegate::app {

enum class Format { people, json };

/// What the daemon would do with this config, in the keeper's words or as JSON.
[[nodiscard]] std::string explain(const config::Config& config, Format format);

/// What is wrong with a file.
[[nodiscard]] std::string explain(const config::Problems& problems, const std::string& file,
                                  Format format);

}  // namespace limegate::app
