#pragma once

#include <string>
#include <string_view>

#include <CLI/CLI.hpp>

namespace limegate::app {

/// What the manual says of a topic: a page ("config"), or whatever has an entry there: a command, a
/// key of the file, the code of a hold, an alert. Without a topic: the pages.
/// Empty if nothing has such an entry.
[[nodiscard]] std::string help_on(std::string_view topic);

/// `limegate help`.
void add_help_command(CLI::App& app, int& code);

}  // namespace limegate::app
