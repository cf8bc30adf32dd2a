#pragma once

#include <limits>

#include "units/time.h"

namespace limegate::signal {

/// How far a value has climbed above where it was, beyond an allowance per hour: the largest
/// difference between now and any earlier time, less the allowance for the time between. A climb
/// slower than the allowance never shows; one that ended wears off at the allowance's pace.
/// Source: Page 1954, Biometrika 41, 100 (cumulative sums), for a ramp.
/// Units: those of the values given.   Memory: one number.
class RiseCusum {
 public:
  explicit RiseCusum(double allowance_per_h) : allowance_per_h_(allowance_per_h) {}

  /// Takes a good, undisturbed value. Times do not go backwards; NaN is not taken.
  void learn(Instant at, double value);
  /// The climb up to `value`, never negative; zero before anything was learned. NaN for NaN.
  [[nodiscard]] double rise(Instant now, double value) const;

 private:
  /// The value as it would be had it climbed by the allowance since the clock began.
  [[nodiscard]] double leaning(Instant at, double value) const;

  double allowance_per_h_;
  double lowest_ = std::numeric_limits<double>::infinity();
};

}  // namespace limegate::signal
