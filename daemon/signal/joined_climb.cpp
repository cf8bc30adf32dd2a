#include "signal/joined_climb.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

namespace limegate::signal {
namespace {

/// Shorter than this is how stirs and pulses interrupt; the window itself bridges it.
constexpr Duration kSilence = std::chrono::minutes{30};

}  // namespace

void JoinedClimb::learn(Instant at, double value) {
  if (!std::isfinite(value)) {
    return;
  }
  if (newest_ && at - *newest_ > kSilence) {
    stands_ = {at, of_ten_.mean() - slow_rise(*newest_, of_ten_.mean())};
  }
  newest_ = at;
  of_minute_.learn(at, value);
  quick_.learn(at, of_minute_.mean());
  of_ten_.learn(at, value);
  slow_.learn(at, of_ten_.mean());
  of_hour_.learn(at, value);
  of_days_.learn(at, value);
}

double JoinedClimb::slow_rise(Instant now, double mean) const {
  const double rise = slow_.rise(now, mean);
  return stands_ && now - stands_->since <= kWindow ? std::max(rise, mean - stands_->value) : rise;
}

JoinedClimb::Strongest JoinedClimb::strongest(Instant now, double value) const {
  if (!std::isfinite(value)) {
    return {std::numeric_limits<double>::quiet_NaN(), Pace::slow};
  }
  if (!newest_) {
    return {};
  }
  const double of_ten = of_ten_.with(now, value);
  // Until a value was learned after a silence, the last one before it is the lowest of the window.
  const double slow = std::max(slow_rise(now, of_ten), of_ten - of_ten_.mean());
  const double lasting = of_hour_.with(now, value) - of_days_.with(now, value);
  const std::array<Strongest, 3> all{
      Strongest{quick_.rise(now, of_minute_.with(now, value)) / share(Pace::quick), Pace::quick},
      Strongest{slow / share(Pace::slow), Pace::slow},
      Strongest{std::max(lasting, 0.0) / share(Pace::lasting), Pace::lasting}};
  return *std::max_element(all.begin(), all.end(), [](const Strongest& a, const Strongest& b) {
    return a.climb < b.climb;
  });
}

void JoinedClimb::take_up(Instant at, double value, double climb) {
  newest_ = at;
  of_minute_.learn(at, value);
  quick_.learn(at, value - climb * share(Pace::quick));
  of_ten_.learn(at, value);
  stands_ = {at, value - climb * share(Pace::slow)};
  of_hour_.learn(at, value);
  of_days_.learn(at, value - climb * share(Pace::lasting));
}

}  // namespace limegate::signal
