#pragma once

#include <CLI/CLI.hpp>

namespace limegate::app {

/// Adds `commission`: leads a keeper from an empty reactor to the half dose, beside the running
/// daemon.
void add_commission_command(CLI::App& app, int& code);

}  // namespace limegate::app
