#pragma once

#include <CLI/CLI.hpp>

namespace limegate::app {

/// Adds `advise`: how much limewater next, from a book of water tests. It needs no daemon, and
/// changes nothing.
void add_advise_command(CLI::App& app, int& code);

}  // namespace limegate::app
