#include "station/anchor.h"

#include <cmath>
#include <cstdlib>

#include <fmt/format.h>

#include "care/rate_runs.h"
#include "rules/limits.h"

namespace limegate::station {
namespace {

using rules::SoundEffect;

/// A decline is told below this share of the first effect, and is over above the second one.
/// Source: our own reasoning; a worn tube gives a third less.
constexpr double kDeclined = 0.7;
constexpr double kRecovered = 0.8;
/// Below this share the file counts far more than flows, and the corals starve.
constexpr double kReadsUnder = 0.7;
/// Of two rates that are the same but for their last digits.
constexpr double kSameRate = 0.005;

LearnedAnchor sane(LearnedAnchor stored) {
  if (stored.first_share && !(*stored.first_share > 0.0 && *stored.first_share < 100.0)) {
    stored.first_share.reset();
  }
  return stored;
}

}  // namespace

Anchor::Anchor(const LearnedAnchor& stored, Rate rate) : learned_(sane(stored)), rate_(rate) {}

void Anchor::take(Moment now, const signal::DoseResponse::Share& today, std::optional<double> usual,
                  Effects& effects) {
  const LearnedAnchor before = learned_;
  learned_.rate = rate_.highest;
  if (!learned_.beyond_chemistry && today.at_least() > SoundEffect::kFarTooMuch) {
    learned_.beyond_chemistry = true;
  } else if (learned_.beyond_chemistry && today.share <= SoundEffect::kFarTooMuch) {
    learned_.beyond_chemistry = false;
  }
  step(now, effects);
  if (usual && !learned_.first_share) {
    learned_.first_share = usual;
  }
  if (usual && !decline_told_ && *usual < kDeclined * *learned_.first_share) {
    decline_told_ = true;
    effects.emplace_back(
        Raise{{now.wall, Severity::alert, "dose-effect-declined",
               fmt::format("Over time the doses have come to raise the pH by only {:.0f} % of what "
                           "they did at first. Is the tube worn, the powder old or spent? If this "
                           "is how it shall be: limegate relearn.",
                           100.0 * *usual / *learned_.first_share),
               "dose-effect-declined"}});
  } else if (usual && decline_told_ && *usual > kRecovered * *learned_.first_share) {
    decline_told_ = false;
    effects.emplace_back(Raise{{now.wall,
                                Severity::info,
                                "dose-effect-recovered",
                                "The doses raise the pH as they did at first.",
                                {},
                                "dose-effect-declined"}});
  }
  if (learned_ != before) {
    store(effects);
  }
}

void Anchor::step(Moment now, Effects& effects) {
  if (learned_.beyond_chemistry == beyond_told_) {
    return;
  }
  beyond_told_ = learned_.beyond_chemistry;
  const char* const id = "dose-beyond-chemistry";
  effects.emplace_back(
      beyond_told_
          ? Raise{{now.wall, Severity::alert, id,
                   fmt::format("The doses of a day raised the pH more than {:.1f} times as much as "
                               "chemistry expects. {}",
                               SoundEffect::kFarTooMuch, sentence_of(Halved::beyond_chemistry)),
                   id}}
          : Raise{{now.wall,
                   Severity::info,
                   "dose-within-chemistry",
                   "The doses raise the pH by no more than a sound station's, or a person has "
                   "measured the pump.",
                   {},
                   id}});
}

std::string Anchor::confirm(MillilitresPerMinute measured, Effects& effects) {
  const double share = measured.count() / rate_.highest.count();
  if (share > care::kRateReadsOver) {
    // More flows than counts: what was known of the rate is wrong.
    learned_.contradicted_rate = rate_.highest;
    learned_.confirmed_rate.reset();
    store(effects);
  }
  if (!(share <= care::kRateReadsOver && share >= kReadsUnder)) {
    return fmt::format(
        "That is {:.1f} mL/min, and the file says {:.1f}. Measure again; if it stays, write "
        "rate_ml_per_min = {:.1f} and today's date as rate_measured into the pump's table",
        measured.count(), rate_.highest.count(), measured.count());
  }
  learned_.confirmed_rate = rate_.highest;
  learned_.contradicted_rate.reset();
  learned_.beyond_chemistry = false;
  store(effects);
  return {};
}

std::string Anchor::told(MillilitresPerMinute measured, Effects& effects) {
  return measured.count() / rate_.highest.count() > care::kRateReadsOver
             ? confirm(measured, effects)
             : "";
}

void Anchor::begin_anew(Effects& effects) {
  decline_told_ = false;
  if (learned_.first_share) {
    learned_.first_share.reset();
    store(effects);
  }
}

void Anchor::store(Effects& effects) const { effects.emplace_back(StoreAnchor{learned_}); }

bool Anchor::same(const std::optional<MillilitresPerMinute>& rate) const {
  return rate && std::abs(rate->count() / rate_.highest.count() - 1.0) < kSameRate;
}

Anchor::Halved Anchor::halved(std::optional<double> usual) const {
  if (learned_.beyond_chemistry) {
    return Halved::beyond_chemistry;
  }
  if (same(learned_.contradicted_rate)) {
    return Halved::rate_contradicted;
  }
  const bool plausible =
      usual && *usual >= SoundEffect::kFarTooLittle && *usual <= SoundEffect::kFarTooMuch;
  return rate_.dated || same(learned_.confirmed_rate) || plausible ? Halved::no
                                                                   : Halved::rate_unconfirmed;
}

std::string sentence_of(Anchor::Halved halved) {
  switch (halved) {
    case Anchor::Halved::no:
      return {};
    case Anchor::Halved::rate_unconfirmed:
      return "Half of the planned volume is given at most until the pump's rate was measured: "
             "collect what limegate run-attended gives in a cylinder and say limegate "
             "confirm-rate, or date rate_measured in the file.";
    case Anchor::Halved::rate_contradicted:
      return "Half of the planned volume is given at most: a measured run gave more than the "
             "file's "
             "rate_ml_per_min. Correct it and date it, or measure again.";
    case Anchor::Halved::beyond_chemistry:
      return "Half of the volume is given until that is over. Measure what the pump gives in a "
             "minute; look for milk at the outlet; test the alkalinity; compare water_volume_l, "
             "alkalinity_dkh and rate_ml_per_min of the file. A run that confirms the rate ends it "
             "too: limegate confirm-rate.";
  }
  std::abort();
}

}  // namespace limegate::station
