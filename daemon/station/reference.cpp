#include "station/reference.h"

#include <algorithm>
#include <chrono>

#include <fmt/format.h>

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

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
    : in_file_(in_file), learned_(sane(stored)), calm_since_(now), eased_(now - 24h) {
  if (learned_.share < 1.0) {
    calm_since_ = eased_ = std::min(now, now - (today.lifetime - learned_.changed.lifetime));
  }
}

void Reference::dose_begins(Moment now, const UsualCourse& course, std::optional<Duration> undosed,
                            Effects& effects) {
  const auto mean = course.mean_of(kUndosedDays);
  const bool all_undosed = !undosed || *undosed >= course.days() * Duration{24h};
  if (mean && all_undosed) {
    learned_.ph = mean;
    effects.emplace_back(StoreReference{learned_});
    effects.emplace_back(Raise{
        {now.wall, Severity::info, "reference-recorded",
         fmt::format("Dosing begins after {} undosed days. Their mean, pH {:.2f}, is kept as the "
                     "reference that a rise is judged against.",
                     course.days(), mean->count())}});
  } else if (!undosed && !ph()) {
    effects.emplace_back(Raise{
        {now.wall, Severity::warning, "no-reference",
         fmt::format("Dosing begins without a reference of undosed days, so a slow rise of the pH "
                     "above it can't be judged. Set the day's volume to 0 for {} days, or give "
                     "reference_ph in the file.",
                     kUndosedDays)}});
  }
}

void Reference::ease(Moments at, bool risen, Millilitres day_volume, Effects& effects) {
  const Instant now = at.now.mono;
  if (risen && !risen_ && now - eased_ >= 24h) {
    eased_ = now;
    change_to(learned_.share * kEases, at, day_volume, effects);
  } else if (!risen && learned_.share < 1.0 && now - calm_since_ >= 24h) {
    change_to(learned_.share + kStepsUp, at, day_volume, effects);
  }
  if (risen) {
    calm_since_ = now;
  }
  risen_ = risen;
}

void Reference::change_to(double share, const Moments& at, Millilitres day_volume,
                          Effects& effects) {
  const bool eased = share < learned_.share;
  learned_.share = share > 1.0 - kRounding ? 1.0 : share;
  learned_.changed = at.today;
  calm_since_ = at.now.mono;
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
