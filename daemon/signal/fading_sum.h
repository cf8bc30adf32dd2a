#pragma once

#include "units/time.h"

namespace limegate::signal {

/// What many small additions still do: each shows as it mixes in, and fades slowly.
/// Units: those of the amounts given.   Memory: two numbers.
class FadingSum {
 public:
  struct Pace {
    Duration mixes_in;  ///< time constant; shorter than the other
    Duration fades;     ///< time constant
  };
  explicit FadingSum(const Pace& pace) : pace_(pace) {}

  /// An addition that shows as `amount` once it has mixed in, if nothing faded. Times do not go
  /// backwards; what is not finite is not taken.
  void add(Instant at, double amount);
  [[nodiscard]] double at(Instant now) const;

 private:
  [[nodiscard]] double left(Instant now, Duration pace) const;

  Pace pace_;
  Instant since_{};
  double fading_ = 0.0;
  double unmixed_ = 0.0;
};

}  // namespace limegate::signal
