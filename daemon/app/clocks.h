#pragma once

#include <atomic>

#include "ports/clock.h"

namespace limegate::app {

/// The machine's clocks.
class SystemClock : public ports::Clock {
 public:
  /// `trusted` = whether the wall clock is (see ClockTrust); absent: nobody asks.
  explicit SystemClock(const std::atomic<bool>* trusted = nullptr) : trusted_(trusted) {}
  [[nodiscard]] Moment now() const override {
    return {Instant{std::chrono::steady_clock::now().time_since_epoch()},
            WallTime{std::chrono::system_clock::now().time_since_epoch()},
            trusted_ != nullptr && trusted_->load()};
  }

 private:
  const std::atomic<bool>* trusted_;
};

/// A clock that stands still until it is advanced.
/// Threads: `now` from any; `advance` from the loop thread.
class VirtualClock : public ports::Clock {
 public:
  explicit VirtualClock(Moment start)
      : mono_(start.mono.time_since_epoch().count()),
        wall_(start.wall.time_since_epoch().count()) {}

  [[nodiscard]] Moment now() const override {
    return {Instant{Duration{mono_.load()}}, WallTime{Duration{wall_.load()}}};
  }
  void advance(Duration by) {
    mono_ += by.count();
    wall_ += by.count();
  }

 private:
  std::atomic<Duration::rep> mono_;
  std::atomic<Duration::rep> wall_;
};

}  // namespace limegate::app
