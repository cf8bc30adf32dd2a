#include "modbus/patience.h"

#include <algorithm>

namespace limegate::modbus {

void Patience::failed(Instant now) {
  if (!failing()) {
    wait_ = first_;
  } else if (may_try(now)) {
    wait_ = std::min(wait_ * 2, max_);
  }
  next_try_ = now + wait_;
  ++failures_;
}

}  // namespace limegate::modbus
