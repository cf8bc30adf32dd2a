#pragma once

#include <CLI/CLI.hpp>

namespace limegate::app {

/// Adds the commands that speak with a running daemon through its control socket: status, pause,
/// resume, acknowledge, shelve, release, volume, stir, run-attended. The one that was chosen sets
/// `code`.
void add_control_commands(CLI::App& app, int& code);

/// Where the control socket of a daemon with this state directory is.
[[nodiscard]] std::string control_path(const std::string& state_dir);

}  // namespace limegate::app
