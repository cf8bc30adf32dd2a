#pragma once

#include <CLI/CLI.hpp>

namespace limegate::app {

/// `upkeep`, `service`, `away` and `back`. What became of it goes to `code`, an ExitCode.
void add_upkeep_commands(CLI::App& app, int& code);

}  // namespace limegate::app
