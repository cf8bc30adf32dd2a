#pragma once

#include <chrono>
#include <cmath>
#include <numbers>

#include "units/time.h"

namespace limegate::simulator {

/// 0 to 24, in UTC: a simulated tank has no time zone.
[[nodiscard]] inline double hour_of_day(WallTime wall) {
  return in_seconds(wall - std::chrono::floor<std::chrono::days>(wall)) / 3600.0;
}

/// One at `peak_h`, minus one twelve hours from it.
[[nodiscard]] inline double day_wave(WallTime wall, double peak_h) {
  return std::cos(2.0 * std::numbers::pi * (hour_of_day(wall) - peak_h) / 24.0);
}

}  // namespace limegate::simulator
