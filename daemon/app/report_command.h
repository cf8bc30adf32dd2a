#pragma once

#include <CLI/CLI.hpp>

namespace limegate::app {

/// Adds `report`: what a station's record says, as one page.
void add_report_command(CLI::App& app, int& code);

}  // namespace limegate::app
