#include "signal/fading_sum.h"

#include <cmath>

namespace limegate::signal {

double FadingSum::left(Instant now, Duration pace) const {
  return std::exp(-std::chrono::duration<double>(now - since_).count() /
                  std::chrono::duration<double>(pace).count());
}

void FadingSum::add(Instant at, double amount) {
  if (!std::isfinite(amount)) {
    return;
  }
  fading_ = fading_ * left(at, pace_.fades) + amount;
  unmixed_ = unmixed_ * left(at, pace_.mixes_in) + amount;
  since_ = at;
}

double FadingSum::at(Instant now) const {
  return fading_ * left(now, pace_.fades) - unmixed_ * left(now, pace_.mixes_in);
}

}  // namespace limegate::signal
