#include "signal/dose_response.h"

#include <cmath>

namespace limegate::signal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

/// Fewer values than these make no mean.
constexpr int kValuesLeast = 30;
constexpr int kCyclesLeast = 6;
/// So much of a day must have been seen, or the day's own course does not add up to nothing.
constexpr double kDayShareLeast = 0.75;

}  // namespace

DoseResponse::DoseResponse(Duration cycle, const std::vector<Cycle>& before)
    : cycle_(cycle), cycles_(before.begin(), before.end()) {
  if (!cycles_.empty()) {
    const Cycle& newest = cycles_.back();
    before_ = {newest.at, newest.value_then, newest.expected_then};
  }
}

bool DoseResponse::take(Instant quiet_since, Part part, Instant at, double value, double expected) {
  bool completed = false;
  if (gathering_ && (gathering_->quiet_since != quiet_since || gathering_->part != part)) {
    completed = close();
  }
  if (!gathering_) {
    gathering_ = Gathering{quiet_since, part, at, at};
  }
  if (std::isfinite(value) && std::isfinite(expected)) {
    gathering_->last = at;
    gathering_->value += value;
    gathering_->expected += expected;
    ++gathering_->count;
  }
  return completed;
}

bool DoseResponse::complete(const Mean& next) const {
  return before_ && after_ && next.at - before_->at > cycle_ / 2 &&
         next.at - before_->at < cycle_ + cycle_ / 2;
}

bool DoseResponse::close() {
  const Gathering done = *gathering_;
  gathering_.reset();
  if (done.count < kValuesLeast) {
    (done.part == Part::before_doses ? before_ : after_).reset();
    return false;
  }
  const Mean mean{done.first + (done.last - done.first) / 2, done.value / done.count,
                  done.expected / done.count};
  if (done.part == Part::after_doses) {
    after_ = mean;
    return false;
  }
  const bool completed = complete(mean);
  if (completed) {
    const double pace = in_seconds(after_->at - before_->at) / in_seconds(mean.at - after_->at);
    cycles_.push_back(
        {mean.at, (after_->value - before_->value) - pace * (mean.value - after_->value),
         (after_->expected - before_->expected) - pace * (mean.expected - after_->expected),
         mean.value, mean.expected});
  }
  while (!cycles_.empty() && mean.at - cycles_.front().at >= 24h - cycle_ / 2) {
    cycles_.pop_front();
  }
  before_ = mean;
  after_.reset();
  return completed;
}

std::optional<DoseResponse::Share> DoseResponse::today() const {
  const auto count = static_cast<double>(cycles_.size());
  if (count < kCyclesLeast || count * in_seconds(cycle_) < kDayShareLeast * 86400.0) {
    return std::nullopt;
  }
  // Sums, and not the least squares of the cycles: where more is dosed at some hours than at
  // others, the day's own course at those hours would pass for the doses' effect.
  double seen = 0.0;
  double expected = 0.0;
  for (const Cycle& cycle : cycles_) {
    seen += cycle.seen;
    expected += cycle.expected;
  }
  if (!(expected > 0.0)) {
    return std::nullopt;
  }
  const double share = seen / expected;
  double left = 0.0;
  for (const Cycle& cycle : cycles_) {
    left += (cycle.seen - share * cycle.expected) * (cycle.seen - share * cycle.expected);
  }
  return Share{share, std::sqrt(left / (count - 1.0) * count) / expected};
}

void DoseResponse::forget() {
  cycles_.clear();
  before_.reset();
  after_.reset();
  gathering_.reset();
}

}  // namespace limegate::signal
