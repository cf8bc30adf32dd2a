#include "station/reference.h"

#include <algorithm>
#include <chrono>
#include <utility>

#include <fmt/format.h>

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

/// A rise must last so long to ease the volume. Source: our own reasoning.
constexpr Duration kLasts = 1h;
constexpr Duration kOnceIn = 24h;
constexpr Duration kCalm = 24h;
/// A share within this of the whole is the whole.
constexpr double kRounding = 1e-9;

LearnedReference sane(LearnedReference stored) {
  if (stored.ph && !(*stored.ph > Ph{7.0} && *stored.ph < Ph{9.0})) {
    stored.ph.reset();
  }
  if (!(stored.share > 0.0 && stored.share <= 1.0)) {
    stored.share = 1.0;
  }
  return stored;
}

}  // namespace

Reference::Reference(const LearnedReference& stored, std::optional<Ph> in_file, dosing::Stamp today,
                     Instant now)
    : in_file_(in_file), learned_(sane(stored)), now_(now) {
  if (learned_.share < 1.0) {
    // What was seen before the start counts, but for the last hour of it. And whether that rise
    // still goes on nobody knows: for a day it is no new one.
    const Duration age = today.lifetime - learned_.changed.lifetime;
    calm_for_ = std::clamp(age, Duration::zero(), kCalm - kLasts);
    eased_ = risen_since_ = now;
  }
}

void Reference::dose_begins(Moment now, const UsualCourse& course, std::optional<Duration> undosed,
                            Effects& effects) {
  const auto mean = course.mean_of(kUndosedDays);
  // A quarter that was seen on n days was first seen n - 1 days ago.
  const bool all_undosed = !undosed || *undosed >= (course.days() - 1) * Duration{24h};
  if (mean && all_undosed) {
    learned_.ph = mean;
    effects.emplace_back(StoreReference{learned_});
    effects.emplace_back(Raise{
        {now.wall, Severity::info, "reference-recorded",
         fmt::format("Dosing begins after {} undosed days. Their mean, pH {:.2f}, is kept as the "
                     "reference that a rise is judged against.",
                     course.days(), mean->count())}});
  } else if (!ph() && !std::exchange(told_none_, true)) {
    effects.emplace_back(
        Raise{{now.wall, Severity::warning, "no-reference",
               fmt::format(
                   "There is no reference of undosed days, so a slow rise of the pH above it "
                   "can't be judged. Give reference_ph in the file; or say 'limegate relearn' and "
                   "set the day's volume to 0 for {} days and some hours.",
                   kUndosedDays)}});
  }
}

void Reference::store(Effects& effects) const {
  if (learned_ != LearnedReference{}) {
    effects.emplace_back(StoreReference{learned_});
  }
}

void Reference::ease(Moments at, Rise rise, Millilitres day_volume, Effects& effects) {
  const Instant now = at.now.mono;
  const Duration passed = now - std::exchange(now_, now);
  if (rise == Rise::far_above) {
    calm_for_ = Duration::zero();
    risen_since_ = risen_since_.value_or(now);
    if (now - *risen_since_ >= kLasts &&
        (!eased_ || (*risen_since_ > *eased_ && now - *eased_ >= kOnceIn))) {
      eased_ = now;
      change_to(learned_.share * kEases, at, day_volume, effects);
    }
    return;
  }
  if (rise == Rise::none) {
    risen_since_.reset();
    calm_for_ += passed;
  }
  if (learned_.share < 1.0 && calm_for_ >= kCalm) {
    change_to(learned_.share + kStepsUp, at, day_volume, effects);
  }
}

void Reference::change_to(double share, const Moments& at, Millilitres day_volume,
                          Effects& effects) {
  const bool eased = share < learned_.share;
  learned_.share = share > 1.0 - kRounding ? 1.0 : share;
  learned_.changed = at.today;
  calm_for_ = Duration::zero();
  effects.emplace_back(StoreReference{learned_});
  const std::string volume =
      fmt::format("{:.0f} % of the day's volume: {:.1f} of {:.1f} mL.", 100.0 * learned_.share,
                  day_volume.count() * learned_.share, day_volume.count());
  effects.emplace_back(
      eased ? Raise{{at.now.wall, Severity::warning, "volume-eased",
                     "The pH rose far above its reference. Eased to " + volume}}
            : Raise{{at.now.wall, Severity::info, "volume-stepped-up",
                     "The pH did not rise far above its reference for a day. Up to " + volume}});
}

}  // namespace limegate::station
