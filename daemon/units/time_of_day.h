#pragma once

#include <chrono>
#include <cstdio>
#include <ctime>
#include <string>

#include "units/time.h"

namespace limegate {

/// What the clock on the wall shows at this place, since its midnight: 0 .. 24 h. The zone is the
/// machine's own (TZ), daylight saving included.
[[nodiscard]] inline Duration time_of_day(WallTime wall) {
  const auto since = std::chrono::floor<std::chrono::seconds>(wall.time_since_epoch());
  const std::time_t seconds = since.count();
  std::tm parts{};
  (void)localtime_r(&seconds, &parts);
  return std::chrono::hours{parts.tm_hour} + std::chrono::minutes{parts.tm_min} +
         std::chrono::seconds{parts.tm_sec} + (wall.time_since_epoch() - since);
}

/// Some hours of every day, by the clock on the wall: from `from` until before `to`, over midnight
/// where `to` is the earlier. Both since midnight, below 24 h, and not the same.
struct HoursOfDay {
  Duration from{};
  Duration to{};

  [[nodiscard]] bool contains(Duration time_of_day) const {
    return from < to ? time_of_day >= from && time_of_day < to
                     : time_of_day >= from || time_of_day < to;
  }
  [[nodiscard]] Duration length() const {
    return to > from ? to - from : to - from + std::chrono::hours{24};
  }
  friend bool operator==(const HoursOfDay&, const HoursOfDay&) = default;
};

/// "22:00 to 06:30"
[[nodiscard]] inline std::string for_people(const HoursOfDay& hours) {
  const auto shown = [](Duration time) {
    const auto minutes = std::chrono::floor<std::chrono::minutes>(time).count();
    char text[16];  // NOLINT(modernize-avoid-c-arrays): for snprintf
    (void)std::snprintf(text, sizeof text, "%02d:%02d", static_cast<int>(minutes / 60) % 100,
                        static_cast<int>(minutes % 60));
    return std::string{text};
  };
  return shown(hours.from) + " to " + shown(hours.to);
}

}  // namespace limegate
