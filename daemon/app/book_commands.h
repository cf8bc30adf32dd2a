#pragma once

#include <CLI/CLI.hpp>

namespace limegate::app {

/// Adds the commands about the keeper's book of a running daemon: record, undo, book.
void add_book_commands(CLI::App& app, int& code);

}  // namespace limegate::app
