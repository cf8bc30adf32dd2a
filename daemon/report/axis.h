#pragma once

#include <string>
#include <vector>

#include "units/time.h"

namespace limegate::report {

/// One side of a chart: from where to where, in the unit of what is drawn, and its marks. Times are
/// seconds, since 1970 UTC or since a beginning. `from` is below `to`.
struct Axis {
  struct Tick {
    double at = 0.0;
    std::string words;
  };
  double from = 0.0, to = 1.0;
  std::vector<Tick> ticks;

  /// Where a value lies: 0 at the begin, 1 at the end. NaN stays NaN.
  [[nodiscard]] double share(double value) const { return (value - from) / (to - from); }
};

/// Of values within `low` and `high`: it begins and ends on marks, which are 1, 2 or 5 times a
/// power of ten apart, and has at most `steps` of them (2 or more). Where both are the same, or no
/// numbers, it is a step about them, or from 0 to 1.
[[nodiscard]] Axis value_axis(double low, double high, int steps);

/// Of a span of the wall clock, in UTC: "Nov 25", "14:00". At most ten marks.
[[nodiscard]] Axis clock_axis(WallTime from, WallTime to);
/// Of the time since something began: "day 2", "14:00".
[[nodiscard]] Axis course_axis(Duration lasting);
/// Of the hours of a day.
[[nodiscard]] Axis day_axis();

}  // namespace limegate::report
