#pragma once

#include <chrono>

namespace limegate {

using Duration = std::chrono::nanoseconds;

/// Monotonic time of this boot. Every decision uses it; no clock step moves it.
using Instant = std::chrono::time_point<std::chrono::steady_clock, Duration>;

/// Wall-clock time (UTC). For the record and for display only, and as a *second* opinion on the
/// age of a ledger row, where it can make an age smaller and never larger.
using WallTime = std::chrono::time_point<std::chrono::system_clock, Duration>;

/// Both clocks read at one moment.
struct Moment {
  Instant mono;
  WallTime wall;
};

}  // namespace limegate
