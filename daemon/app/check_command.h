#pragma once

#include <string>

#include "config/config.h"
#include "config/problem.h"
#include "config/question.h"

namespace limegate::app {

enum class Format { people, json };

/// What the daemon would do with this config, in the keeper's words or as JSON, and what is asked
/// back.
[[nodiscard]] std::string explain(const config::Config& config, const config::Questions& questions,
                                  Format format);

/// The questions that are open, each with the line that answers it. Empty if there is none.
[[nodiscard]] std::string asked_back(const config::Questions& questions);

/// What is wrong with a file.
[[nodiscard]] std::string explain(const config::Problems& problems, const std::string& file,
                                  Format format);

}  // namespace limegate::app
