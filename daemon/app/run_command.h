#pragma once

#include <string>

#include "app/pace.h"
#include "config/config.h"

namespace limegate::app {

enum class View { log, screen };

/// Runs a checked config until it is told to stop. `text` is the config as written: it is kept for
/// `limegate off`. Returns an ExitCode.
[[nodiscard]] int run(const config::Config& config, const std::string& text, Pace& pace, View view);

}  // namespace limegate::app
