#pragma once

#include <array>
#include <cstdio>
#include <ctime>
#include <optional>
#include <string>
#include <string_view>

#include "units/time.h"

namespace limegate {

/// A moment as ISO 8601 writes it, in UTC to the second: "2026-11-25T07:15:32Z".
[[nodiscard]] inline std::string iso8601(WallTime wall) {
  const std::time_t seconds =
      std::chrono::floor<std::chrono::seconds>(wall.time_since_epoch()).count();
  std::tm parts{};
  (void)gmtime_r(&seconds, &parts);
  std::array<char, 32> text{};
  const std::size_t length = std::strftime(text.data(), text.size(), "%Y-%m-%dT%H:%M:%SZ", &parts);
  return {text.data(), length};
}

/// Reads what `iso8601` writes, and nothing else. Absent: it is no such moment.
[[nodiscard]] inline std::optional<WallTime> from_iso8601(std::string_view text) {
  std::tm parts{};
  const std::string whole{text};
  const char* const end = strptime(whole.c_str(), "%Y-%m-%dT%H:%M:%SZ", &parts);
  if (end != whole.c_str() + whole.size()) {
    return std::nullopt;
  }
  const WallTime wall{std::chrono::seconds{timegm(&parts)}};
  return iso8601(wall) == text ? std::optional{wall} : std::nullopt;
}

}  // namespace limegate
