#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <deque>
#include <optional>
#include <vector>

#include "units/time.h"

namespace limegate::benchmarks {

/// Exponential means over 10 and over 120 minutes; it says their difference.
/// Source: DETECTION.md's rival; the weights are those of a mean that fades with time, gaps or not.
class MeansApart {
 public:
  double take(Instant now, double value) {
    using Minutes = std::chrono::duration<double, std::ratio<60>>;
    const double passed = newest_ ? Minutes(now - *newest_).count() : 1e9;
    newest_ = now;
    fast_ += (value - fast_) * -std::expm1(-passed / 10.0);
    slow_ += (value - slow_) * -std::expm1(-passed / 120.0);
    return fast_ - slow_;
  }

 private:
  double fast_ = 0.0, slow_ = 0.0;
  std::optional<Instant> newest_;
};

/// The slope of one straight line through so many values, in units per hour of minutes' values.
class Line {
 public:
  explicit Line(std::size_t length) : length_(length) {}
  double take(double value) {
    values_.push_back(value);
    if (values_.size() < length_) {
      return 0.0;
    }
    if (values_.size() > length_) {
      values_.pop_front();
    }
    const double middle = (static_cast<double>(length_) - 1.0) / 2.0;
    double slope = 0.0, squares = 0.0;
    for (std::size_t k = 0; k < length_; ++k) {
      const double from_middle = static_cast<double>(k) - middle;
      slope += from_middle * values_[k];
      squares += from_middle * from_middle;
    }
    return slope / squares * 60.0;
  }

 private:
  std::size_t length_;
  std::deque<double> values_;
};

/// A bank of straight lines of many lengths, each against its own usual spread.
class LinesOfManyLengths {
 public:
  double take(double value) {
    values_.push_back(value);
    if (values_.size() > kLengths.back()) {
      values_.pop_front();
    }
    double most = 0.0;
    for (std::size_t i = 0; i < kLengths.size(); ++i) {
      const std::size_t length = kLengths[i];
      if (values_.size() < length) {
        continue;
      }
      const double middle = (static_cast<double>(length) - 1.0) / 2.0;
      double slope = 0.0;
      for (std::size_t k = 0; k < length; ++k) {
        slope += (static_cast<double>(k) - middle) * values_[values_.size() - length + k];
      }
      square_[i] += 0.0001 * (slope * slope - square_[i]);
      most = std::max(most, slope / std::sqrt(std::max(square_[i], 1e-12)));
    }
    return most;
  }

 private:
  static constexpr std::array<std::size_t, 9> kLengths{5, 10, 20, 40, 80, 160, 320, 640, 1280};
  std::deque<double> values_;
  std::array<double, kLengths.size()> square_{};
};

/// How often a detector would have held at each of many limits; a hold ends below two thirds. What
/// holds at one limit holds at every lower one, so one number says which do.
class FalseHolds {
 public:
  explicit FalseHolds(double highest) : highest_(highest) {}

  void take(double says) {
    const std::size_t reached = limits_up_to(says);
    for (; held_ < reached; ++held_) {
      ++holds_[held_];
    }
    held_ = std::min(held_, limits_up_to(says * 1.5));
  }
  void add(const FalseHolds& other) {
    for (std::size_t i = 0; i < kLimits; ++i) {
      holds_[i] += other.holds_[i];
    }
  }
  /// The lowest limit with no more holds than this.
  [[nodiscard]] double limit_for(double holds) const {
    const auto found =
        std::find_if(holds_.begin(), holds_.end(), [&](int some) { return some <= holds; });
    return limit(static_cast<std::size_t>(found - holds_.begin()));
  }
  [[nodiscard]] int at(double wanted) const {
    return holds_[static_cast<std::size_t>(std::lround(wanted / highest_ * kLimits)) - 1];
  }

 private:
  static constexpr std::size_t kLimits = 4000;
  [[nodiscard]] double limit(std::size_t i) const {
    return highest_ * static_cast<double>(i + 1) / kLimits;
  }
  [[nodiscard]] std::size_t limits_up_to(double says) const {
    const double limits = std::floor(says / highest_ * kLimits + 1e-9);
    return static_cast<std::size_t>(std::clamp(limits, 0.0, double{kLimits}));
  }
  double highest_;
  std::array<int, kLimits> holds_{};
  std::size_t held_ = 0;
};

}  // namespace limegate::benchmarks
