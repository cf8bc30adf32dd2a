#pragma once

#include <chrono>
#include <string>

#include "app/clock_trust.h"
#include "app/clocks.h"
#include "app/pace.h"

namespace limegate::app {

/// Life itself.
class RealPace : public Pace {
 public:
  /// Without a trust nobody asks for the hour.
  explicit RealPace(const ClockTrust* trust = nullptr)
      : clock_(trust != nullptr ? &trust->trusted() : nullptr) {}
  [[nodiscard]] const ports::Clock& clock() const override { return clock_; }
  [[nodiscard]] std::string boot_id() const override;
  [[nodiscard]] Kind kind() const override { return Kind::real; }
  void pass(Duration /*by*/) override {}

 private:
  SystemClock clock_;
};

/// The kernel's id of this boot; empty if it does not say.
[[nodiscard]] std::string kernel_boot_id();

/// A virtual clock that runs `acceleration` times as fast as life, starting at the present.
class AcceleratedPace : public Pace {
 public:
  explicit AcceleratedPace(double acceleration);
  [[nodiscard]] const ports::Clock& clock() const override { return clock_; }
  [[nodiscard]] std::string boot_id() const override;
  [[nodiscard]] Kind kind() const override { return Kind::lock_step; }
  void pass(Duration by) override;

 private:
  double acceleration_;
  VirtualClock clock_;
  std::chrono::steady_clock::time_point next_;
};

}  // namespace limegate::app
