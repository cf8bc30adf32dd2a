#include "signal/watched_climb.h"

#include <algorithm>

namespace limegate::signal {

WatchedClimb::WatchedClimb(const Settings& settings, std::optional<Past> before)
    : settings_(settings), climb_(settings.window), undisturbed_(before) {}

void WatchedClimb::seen(Instant now) {
  if (!newest_ && undisturbed_ && now - undisturbed_->at > settings_.window) {
    undisturbed_.reset();  // seen by an earlier run, too long ago to tell of the last window
  }
  if (!newest_ || now - *newest_ > settings_.silence_max) {
    const bool stood = newest_ && stands_ && !seen_whole(*newest_);
    if (undisturbed_) {
      const double lowest = newest_ ? undisturbed_->value : undisturbed_->lowest;
      stands_ = stood ? std::min(*stands_, lowest) : lowest;
    }
    seen_since_ = now;
  }
  newest_ = now;
}

void WatchedClimb::learn(Instant now, double value) {
  climb_.learn(now, value);
  undisturbed_ = {now, value, value};
}

std::optional<WatchedClimb::Past> WatchedClimb::newest_undisturbed() const {
  auto newest = undisturbed_;
  if (newest && newest_) {
    newest->lowest = newest->value - rise(newest->at, newest->value).value_or(0.0);
  }
  return newest;
}

std::optional<double> WatchedClimb::rise(Instant now, double value) const {
  if (seen_whole(now)) {
    return climb_.rise(now, value);
  }
  if (!seen_since_ || !stands_) {
    return std::nullopt;
  }
  return std::max(climb_.rise(now, value), value - *stands_);
}

Duration WatchedClimb::unknown_for(Instant now) const {
  return seen_since_ ? std::max(Duration::zero(), settings_.window - (now - *seen_since_))
                     : settings_.window;
}

}  // namespace limegate::signal
