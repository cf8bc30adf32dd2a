#include "signal/climb.h"

#include <algorithm>
#include <limits>

namespace limegate::signal {
namespace {

std::int64_t minute_of(Instant at) {
  return std::chrono::floor<std::chrono::minutes>(at.time_since_epoch()).count();
}

}  // namespace

Climb::Climb(Duration window)
    : window_minutes_(std::clamp<std::int64_t>(
          std::chrono::ceil<std::chrono::minutes>(window).count(), 1, kMinutes - 1)) {}

void Climb::learn(Instant at, double value) {
  const std::int64_t number = minute_of(at);
  if (number != lowest_.before) {
    lowest_.before = -1;
  }
  Minute& minute = minutes_[static_cast<std::size_t>(number) % kMinutes];
  if (minute.number != number) {
    minute = Minute{number, 0.0, 0};
  }
  minute.sum += value;
  ++minute.count;
}

double Climb::lowest_before(std::int64_t newest) const {
  if (lowest_.before != newest) {
    lowest_ = {newest, std::numeric_limits<double>::infinity()};
    for (const Minute& minute : minutes_) {
      if (minute.count > 0 && minute.number < newest && newest - minute.number <= window_minutes_) {
        lowest_.value = std::min(lowest_.value, minute.sum / minute.count);
      }
    }
  }
  return lowest_.value;
}

double Climb::rise(Instant now, double value) const {
  const std::int64_t newest = minute_of(now);
  const Minute& minute = minutes_[static_cast<std::size_t>(newest) % kMinutes];
  const double of_this = minute.number == newest && minute.count > 0
                             ? minute.sum / minute.count
                             : std::numeric_limits<double>::infinity();
  return value - std::min({value, of_this, lowest_before(newest)});
}

}  // namespace limegate::signal
