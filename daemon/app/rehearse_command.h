#pragma once

#include <CLI/CLI.hpp>

namespace limegate::app {

/// Adds `rehearse`: the owner's config, every station of it, against a simulated tank.
void add_rehearse_command(CLI::App& app, int& code);

}  // namespace limegate::app
