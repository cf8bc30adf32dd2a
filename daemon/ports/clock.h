#pragma once

#include "units/time.h"

namespace limegate::ports {

/// Where time comes from. The daemon uses the machine's clocks, rehearsals and tests a virtual one.
/// Threads: `now()` may be called from any thread.
class Clock {
 public:
  virtual ~Clock() = default;
  [[nodiscard]] virtual Moment now() const = 0;
};

}  // namespace limegate::ports
