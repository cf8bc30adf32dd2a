#include "signal/climb.h"

#include <algorithm>

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
  Minute& minute = minutes_[static_cast<std::size_t>(number) % kMinutes];
  if (minute.number != number) {
    minute = Minute{number, 0.0, 0};
  }
  minute.sum += value;
  ++minute.count;
}

double Climb::rise(Instant now, double value) const {
  const std::int64_t newest = minute_of(now);
  double lowest = value;
  for (const Minute& minute : minutes_) {
    if (minute.count > 0 && minute.number <= newest && newest - minute.number <= window_minutes_) {
      lowest = std::min(lowest, minute.sum / minute.count);
    }
  }
  return value - lowest;
}

}  // namespace limegate::signal
