#pragma once

#include <chrono>

namespace limegate {

using Duration = std::chrono::nanoseconds;

/// Monotonic time of this boot. Every decision uses it; no clock step moves it.
using Instant = std::chrono::time_point<std::chrono::steady_clock, Duration>;

/// Wall-clock time (UTC). For the record and for display only; no age and no hold goes by it, but
/// for what is usual at an hour of the day.
using WallTime = std::chrono::time_point<std::chrono::system_clock, Duration>;

/// Durations as numbers of seconds and minutes, and back: for arithmetic and for people.
[[nodiscard]] constexpr double in_seconds(Duration duration) {
  return std::chrono::duration<double>(duration).count();
}
[[nodiscard]] constexpr double in_minutes(Duration duration) { return in_seconds(duration) / 60.0; }
[[nodiscard]] constexpr Duration seconds_of(double count) {
  return std::chrono::duration_cast<Duration>(std::chrono::duration<double>(count));
}
[[nodiscard]] constexpr Duration minutes_of(double count) { return seconds_of(60.0 * count); }

/// Both clocks read at one moment.
struct Moment {
  Instant mono;
  WallTime wall;
  /// Whether the wall clock was set in this boot by something that knows the time. Else it is good
  /// for the record, and no evidence of the hour.
  bool wall_trusted = true;
};

}  // namespace limegate
