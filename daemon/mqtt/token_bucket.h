#pragma once

#include <algorithm>
#include <chrono>

#include "units/time.h"

namespace limegate::mqtt {

/// So many at once, and then so many a second. A clock that goes back fills nothing.
/// Threads: one owner, or under its lock.
class TokenBucket {
 public:
  TokenBucket(double burst, double per_second)
      : burst_(burst), per_second_(per_second), tokens_(burst) {}

  /// Whether one more may pass now; then it counts.
  [[nodiscard]] bool take(Instant now) {
    const double seconds = std::chrono::duration<double>(now - filled_).count();
    tokens_ = std::min(burst_, tokens_ + std::max(seconds, 0.0) * per_second_);
    filled_ = now;
    if (tokens_ < 1) {
      return false;
    }
    tokens_ -= 1;
    return true;
  }

 private:
  double burst_, per_second_, tokens_;
  Instant filled_{};
};

}  // namespace limegate::mqtt
