#pragma once

#include <chrono>
#include <mutex>

#include "ports/clock.h"

namespace limegate::test {

/// The machine's own clocks.
class MachineClock final : public ports::Clock {
 public:
  [[nodiscard]] Moment now() const override {
    return {std::chrono::steady_clock::now(), std::chrono::system_clock::now()};
  }
};

/// A clock that moves only when told. Threads: any.
class ManualClock final : public ports::Clock {
 public:
  explicit ManualClock(Moment start = {Instant{std::chrono::hours{1}}, WallTime{}}) : now_(start) {}
  [[nodiscard]] Moment now() const override {
    const std::lock_guard lock{mutex_};
    return now_;
  }
  void advance(Duration by) {
    const std::lock_guard lock{mutex_};
    now_.mono += by;
    now_.wall += by;
  }

 private:
  mutable std::mutex mutex_;
  Moment now_;
};

}  // namespace limegate::test
