#include "rehearsal/climb_judge.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <limits>

#include <fmt/format.h>

namespace limegate::rehearsal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

// The slacks stand in words in the table of promises.
constexpr double kSlack = 0.02;
constexpr std::int64_t kYoungestMinutes = 2;
constexpr std::int64_t kOldestMinutesLess = 2;
constexpr Duration kWatchedSlack = 1min;
constexpr std::int64_t kLatelyMinutes = 5;

}  // namespace

void ClimbJudge::second(Duration now, const Second& second) {
  if (second.disturbed) {
    disturbed_at_ = now;
  }
  const std::int64_t number = now / 1min;
  last_minute_.at(static_cast<std::size_t>(now / 1s % 60)) =
      second.ph.value_or(std::numeric_limits<double>::quiet_NaN());
  Minute& present = minutes_.at(static_cast<std::size_t>(number % kMinutes));
  if (present.number != number) {
    present = {number, std::numeric_limits<double>::infinity(),
               -std::numeric_limits<double>::infinity()};
  }
  // The program may see a stir or a run a second or two later than it is.
  present.disturbed =
      present.disturbed || (disturbed_at_ && now - *disturbed_at_ <= limits_.undisturbed + 3s);
  if (second.ph) {
    present.lowest = std::min(present.lowest, *second.ph);
    present.highest = std::max(present.highest, *second.ph);
    ++present.seconds;
  }
}

std::optional<double> ClimbJudge::highest_lately(Duration now) const {
  std::optional<double> highest;
  const std::int64_t present = now / 1min;
  for (std::int64_t age = 0; age <= std::min<std::int64_t>(kLatelyMinutes, present); ++age) {
    const Minute& then = minute(present - age);
    if (then.number == present - age && then.seconds > 0) {
      highest = std::max(highest.value_or(then.highest), then.highest);
    }
  }
  return highest;
}

void ClimbJudge::judge_pulse(Verdicts& verdicts) const {
  const Duration now = verdicts.now();
  if (unwatched_at_ && now - *unwatched_at_ < limits_.window - kWatchedSlack) {
    verdicts.broken(Promise::climb_watched);
  }
  const double shown = *std::min_element(last_minute_.begin(), last_minute_.end());
  if (std::any_of(last_minute_.begin(), last_minute_.end(),
                  [](double value) { return std::isnan(value); })) {
    return;
  }
  const std::int64_t present = now / 1min;
  const std::int64_t oldest = limits_.window / 1min - kOldestMinutesLess;
  for (std::int64_t age = kYoungestMinutes; age <= std::min({oldest, kMinutes - 2, present});
       ++age) {
    const Minute& then = minute(present - age);
    if (then.number == present - age && then.seconds == 60 && !then.disturbed &&
        shown - then.highest >= limits_.climb + kSlack) {
      verdicts.broken(Promise::no_climb,
                      fmt::format("from {:.3f} at most to {:.3f} at least in {} min", then.highest,
                                  shown, age));
      return;
    }
  }
}

}  // namespace limegate::rehearsal
