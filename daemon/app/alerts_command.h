#pragma once

#include <CLI/CLI.hpp>

namespace limegate::app {

/// Adds `alerts` and `alerts test`. The one that was chosen sets `code`.
void add_alerts_command(CLI::App& app, int& code);

}  // namespace limegate::app
