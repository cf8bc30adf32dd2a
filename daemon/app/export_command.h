#pragma once

#include <CLI/CLI.hpp>

namespace limegate::app {

/// Adds `export`: a station's record for other programs.
void add_export_command(CLI::App& app, int& code);

}  // namespace limegate::app
