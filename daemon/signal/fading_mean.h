#pragma once

#include <optional>

#include "units/time.h"

namespace limegate::signal {

/// A mean over about the last `over`: what is older counts less and less. It begins at the first
/// value, and a gap makes the next value count for more.
/// Units: those of the values given.   Memory: two numbers.
class FadingMean {
 public:
  explicit FadingMean(Duration over) : over_(over) {}

  /// The mean as it would be with `value` too. Times do not go backwards. NaN for NaN.
  [[nodiscard]] double with(Instant now, double value) const {
    if (!at_) {
      return value;
    }
    const double passed = std::chrono::duration<double>(now - *at_).count();
    return mean_ +
           (value - mean_) * passed / (passed + std::chrono::duration<double>(over_).count());
  }
  void learn(Instant now, double value) {
    mean_ = with(now, value);
    at_ = now;
  }
  [[nodiscard]] double mean() const { return mean_; }  ///< zero before the first value

 private:
  Duration over_;
  double mean_ = 0.0;
  std::optional<Instant> at_;
};

}  // namespace limegate::signal
