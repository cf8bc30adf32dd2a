#include "signal/fading_sum.h"

#include <cmath>

namespace limegate::signal {

void FadingSum::add(Instant at, double amount) {
  if (std::isfinite(amount)) {
    sum_ = this->at(at) + amount;
    since_ = at;
  }
}

double FadingSum::at(Instant now) const {
  return sum_ * std::exp(-std::chrono::duration<double>(now - since_).count() /
                         std::chrono::duration<double>(fades_).count());
}

}  // namespace limegate::signal
