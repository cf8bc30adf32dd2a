#pragma once

#include "units/time.h"

namespace limegate::modbus {

/// How long something that failed is left alone: `first`, doubled at each further failure up to
/// `max`, forgotten at the first success. A pure state; the caller brings the time.
class Patience {
 public:
  Patience(Duration first, Duration max) : first_(first), max_(max) {}

  [[nodiscard]] bool may_try(Instant now) const { return !failing() || now >= next_try_; }
  [[nodiscard]] bool failing() const { return failures_ > 0; }
  [[nodiscard]] int failures() const { return failures_; }
  [[nodiscard]] Instant next_try() const { return next_try_; }

  /// A failure before the next try was due (an off command does not wait) does not double the wait.
  void failed(Instant now);
  void succeeded() { failures_ = 0; }

 private:
  Duration first_;
  Duration max_;
  Duration wait_{};
  Instant next_try_;
  int failures_ = 0;
};

}  // namespace limegate::modbus
