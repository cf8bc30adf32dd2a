#pragma once

#include <charconv>
#include <optional>
#include <string_view>
#include <system_error>

namespace limegate::config {

/// A port of TCP in digits alone, 1 to 65535; absent: it is none.
[[nodiscard]] inline std::optional<int> read_port(std::string_view digits) {
  int port = 0;
  const char* const end = digits.data() + digits.size();
  const auto read = std::from_chars(digits.data(), end, port);
  return read.ec == std::errc{} && read.ptr == end && port >= 1 && port <= 65535
             ? std::optional{port}
             : std::nullopt;
}

}  // namespace limegate::config
