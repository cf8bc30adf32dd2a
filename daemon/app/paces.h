#pragma once

#include <chrono>
#include <string>

#include "app/clocks.h"
#include "app/pace.h"

namespace limegate::app {

/// Life itself.
class RealPace : public Pace {
 public:
  [[nodiscard]] const ports::Clock& clock() const override { return clock_; }
  [[nodiscard]] std::string boot_id() const override;
  [[nodiscard]] Kind kind() const override { return Kind::real; }
  void pass(Duration /*by*/) override {}

 private:
  SystemClock clock_;
};

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
