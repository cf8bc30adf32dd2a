#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>

namespace limegate::app {

struct TerminalSize {
  std::size_t columns = 80, rows = 24;
};
/// Of the terminal on standard output; absent: it is none, and text goes there as it is. One that
/// does not say its size has 80 x 24.
[[nodiscard]] std::optional<TerminalSize> terminal_size();

/// Moves to the upper left and clears the screen (ECMA-48, CUP and ED).
constexpr const char* kClearScreen = "\x1b[H\x1b[2J";

/// Lines of at most so many columns, broken between words and indented below their begin; a word
/// that is longer stays whole. A column is a code point.
[[nodiscard]] std::string wrapped(std::string_view text, std::size_t columns);

/// The first lines of it, wrapped, and one that says how many more there are: so many rows at most.
[[nodiscard]] std::string fitted(std::string_view text, TerminalSize size);

}  // namespace limegate::app
