#pragma once

#include <initializer_list>
#include <optional>
#include <string>
#include <string_view>

#include <tl/expected.hpp>

namespace limegate::app {

// Questions to a person at the terminal, answered line by line on the standard input. Who says
// quit, or ends the input, leaves: that is the error, an ExitCode, and what was done so far stays.

/// To the standard output, in lines as wide as the terminal.
void say(const std::string& text);

/// One of these words. Absent: "skip" was said.
[[nodiscard]] tl::expected<std::optional<std::string>, int> choose(
    const std::string& question, std::initializer_list<std::string_view> words);

/// "yes": true, and false: "skip".
[[nodiscard]] tl::expected<bool, int> word_for(const std::string& question);

/// Whatever was said, without the blanks around it, and with a question mark for what is no plain
/// letter. Absent: "skip".
[[nodiscard]] tl::expected<std::optional<std::string>, int> ask_for(const std::string& question);

/// A number in a unit, which may be left out; asked for until it is one. Absent: "skip".
[[nodiscard]] tl::expected<std::optional<double>, int> ask_number(const std::string& question,
                                                                  std::string_view unit);

}  // namespace limegate::app
