#include "signal/fading_sum.h"

#include <cmath>

namespace limegate::signal {

void FadingSum::add(Instant now, double amount) {
  if (std::isfinite(amount)) {
    sum_ = at(now) + amount;
    since_ = now;
  }
}

double FadingSum::at(Instant now) const {
  return sum_ * std::exp(-std::chrono::duration<double>(now - since_).count() /
                         std::chrono::duration<double>(fades_).count());
}

}  // namespace limegate::signal
