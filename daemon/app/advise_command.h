#pragma once

#include <CLI/CLI.hpp>

namespace limegate::app {

/// Adds `advise`: how much limewater next, from a book of water tests: a file, without any daemon,
/// or the book of a running daemon, which it changes only with --apply.
void add_advise_command(CLI::App& app, int& code);

}  // namespace limegate::app
