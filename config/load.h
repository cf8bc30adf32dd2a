#pragma once

#include <string>
#include <string_view>

#include <tl/expected.hpp>

#include "config/asked_key.h"
#include "config/config.h"
#include "config/problem.h"

namespace limegate::config {

/// The text of a file that is to be parsed, 256 kB at most. Errors: why it can't be read.
[[nodiscard]] tl::expected<std::string, Problems> text_of(const std::string& path);

/// Reads and checks a file in full. All problems are reported at once (a file that is not TOML at
/// all stops at its first).
[[nodiscard]] tl::expected<Config, Problems> load(const std::string& path);

/// The same for a text in memory.
[[nodiscard]] tl::expected<Config, Problems> parse(std::string_view text);

/// Every key that reading this text asks for, in that order, once for each table of it that there
/// is; also of a text with problems. A text that is no TOML: none.
[[nodiscard]] KeyList keys_asked(std::string_view text);

/// Only the directory of the state, from a file that may be wrong everywhere else; if it is not
/// even TOML, from the first line that reads like it. Empty if it can't be told.
[[nodiscard]] std::string state_dir_of(const std::string& path);

/// The simulated station that is built in: what `limegate run` uses without a file.
[[nodiscard]] std::string_view built_in();

}  // namespace limegate::config
