#pragma once

#include <string>
#include <string_view>

namespace limegate {

/// A field in quotes, as RFC 4180 has it.
[[nodiscard]] inline std::string csv_quoted(std::string_view text) {
  std::string quoted = "\"";
  for (const char c : text) {
    quoted += c == '"' ? "\"\"" : std::string{c};
  }
  return quoted + '"';
}

}  // namespace limegate
