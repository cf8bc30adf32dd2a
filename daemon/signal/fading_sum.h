#pragma once

#include "units/time.h"

namespace limegate::signal {

/// What is left of many small additions that all fade at one pace.
/// Units: those of the amounts given.   Memory: two numbers.
class FadingSum {
 public:
  /// `fades` is the time constant.
  explicit FadingSum(Duration fades) : fades_(fades) {}

  /// Times do not go backwards; what is not finite is not taken.
  void add(Instant now, double amount);
  [[nodiscard]] double at(Instant now) const;

 private:
  Duration fades_;
  Instant since_{};
  double sum_ = 0.0;
};

}  // namespace limegate::signal
