#include "rehearsal/water_judge.h"

#include <algorithm>
#include <chrono>
#include <cmath>

#include <fmt/format.h>

namespace limegate::rehearsal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

/// The rise by 1 mL/L of saturated limewater at pH_T 8.2, where a tank answers least:
/// tests/data/limewater_additions.csv, rounded down.
constexpr double kRisePerMlPerLitre = 0.05;
/// The air takes back what a dose did within hours; this is quick (our own scenario of a tank).
constexpr double kFadesS = 2.0 * 3600.0;
constexpr double kBeyondDoubt = 1.4;  ///< times the limit
constexpr PhChange kAllowancePerH{0.03};
constexpr PhChange kReferenceSlack{0.05};
constexpr std::size_t kWholeDayMinutes = 1380;
constexpr double kFarTooMuch = 2.5;
constexpr Duration kEffectTakes = 48h;
constexpr double kMostOfIt = 0.75;

}  // namespace

void WaterJudge::second(Duration now, const Second& second) {
  const double more =
      second.beyond.count() * kRisePerMlPerLitre / limits_.water.count() - beyond_ / kFadesS;
  beyond_ += more;
  climbed_ =
      second.sees_well ? std::max(0.0, climbed_ + more - kAllowancePerH.count() / 3600.0) : 0.0;
  if (second.ph && std::isfinite(*second.ph)) {
    minute_.sum += *second.ph;
    ++minute_.count;
  }
  if (now % 1min == Duration::zero()) {
    if (minute_.count == 60) {
      day_.push_back({now, minute_.sum / 60.0});
      day_sum_ += day_.back().mean;
    }
    minute_ = {};
    while (!day_.empty() && now - day_.front().at >= 24h) {
      day_sum_ -= day_.front().mean;
      day_.pop_front();
    }
  }
  if (!(second.rate_factor >= kFarTooMuch) || !second.otherwise_well) {
    too_much_since_.reset();
  } else if (!too_much_since_) {
    too_much_since_ = now;
  }
}

void WaterJudge::judge_pulse(Millilitres day, const Learned& learned, Verdicts& verdicts) {
  const Duration now = verdicts.now();
  const bool most_of_it = day > limits_.day_volume * kMostOfIt;
  course_since_ = learned.course ? std::optional{course_since_.value_or(now)} : std::nullopt;
  if (learned.course && climbed_ > limits_.climb.count() * kBeyondDoubt) {
    verdicts.broken(Promise::no_foreign_climb, fmt::format("by {:.2f}", climbed_));
  }
  if (course_since_ && learned.reference && day_.size() >= kWholeDayMinutes && most_of_it &&
      now - *course_since_ >= 24h && now - up_since_ >= 24h) {
    const double above = day_sum_ / static_cast<double>(day_.size()) - learned.reference->count();
    if (above > (limits_.rise + kReferenceSlack).count()) {
      verdicts.broken(Promise::not_risen, fmt::format("by {:.2f}", above));
    }
  }
  if (too_much_since_ && most_of_it && now - *too_much_since_ > kEffectTakes) {
    verdicts.broken(Promise::effect_sound);
  }
}

}  // namespace limegate::rehearsal
