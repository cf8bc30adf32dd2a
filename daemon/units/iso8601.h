#pragma once

#include <array>
#include <cstdio>
#include <ctime>
#include <string>

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

}  // namespace limegate
