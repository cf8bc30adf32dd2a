#include "signal/rise_cusum.h"

#include <algorithm>
#include <cmath>

namespace limegate::signal {

double RiseCusum::leaning(Instant at, double value) const {
  using Hours = std::chrono::duration<double, std::ratio<3600>>;
  return value - allowance_per_h_ * Hours(at.time_since_epoch()).count();
}

void RiseCusum::learn(Instant at, double value) {
  if (!std::isnan(value)) {
    lowest_ = std::min(lowest_, leaning(at, value));
  }
}

double RiseCusum::rise(Instant now, double value) const {
  const double leans = leaning(now, value);
  return leans - std::min(lowest_, leans);
}

}  // namespace limegate::signal
