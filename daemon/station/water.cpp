#include "station/water.h"

#include <algorithm>
#include <variant>

namespace limegate::station {
namespace {

/// Until the probe answers (common practice): half a degree moves a dose's effect by a hundredth.
constexpr Celsius kOrdinaryTemperature{25.0};

std::optional<signal::WatchedClimb::Past> ph_of(const std::optional<SeenBefore>& seen) {
  return seen ? std::optional{seen->ph} : std::nullopt;
}

EffectCheck::Stored effect_of(const History& history, const Anchor& anchor) {
  return anchor.learned_under_this_rate()
             ? EffectCheck::Stored{history.effect, history.dose_cycles,
                                   history.lifetime_before_boot}
             : EffectCheck::Stored{{}, {}, history.lifetime_before_boot};
}

}  // namespace

Water::Water(const Settings& settings, const History& history, Moment now)
    : climb_({settings.limits.climb_window, settings.limits.climb_silence},
             ph_of(believable(history.seen, now.mono, settings.limits.climb_window))),
      course_(history.usual_course, settings.limits.climb_allowance_per_h),
      response_(settings.water),
      anchor_(history.anchor, {settings.plan.pump_rate, settings.pump_rate_dated}),
      effect_(effect_of(history, anchor_), settings.plan.stir, settings.limits.settle),
      reference_(history.reference, settings.reference,
                 {now.mono.time_since_epoch() + history.lifetime_before_boot, now.wall}, now.mono),
      largest_dose_(settings.limits.day) {}

void Water::take_up(const History& history, const std::optional<SeenBefore>& seen, Moment now) {
  const Instant until = seen && seen->left ? seen->left->at : now.mono;
  const auto take_doses = [&](auto&& counts) {
    for (const dosing::Dose& dose : history.doses) {
      const Instant end =
          std::min(now.mono, Instant{dose.end.lifetime - history.lifetime_before_boot});
      if (dose.volume <= largest_dose_ && counts(end)) {
        course_.dosed(end, dose.volume);
      }
    }
  };
  take_doses([&](Instant end) { return end <= until; });
  if (seen && seen->left) {
    response_.take(seen->left->value, kOrdinaryTemperature);
    course_.expect(until, response_.per_millilitre(), effect_.expected());
    course_.take_up(now, *seen->left);
  }
  take_doses([&](Instant end) { return end > until; });
}

void Water::know(Moment now, Pulse pulse, rules::Snapshot& known) const {
  if (const signal::Reading ph = rules::counting_ph(known); ph.quality != signal::Quality::bad) {
    if (const auto rise = climb_.rise(now.mono, ph.value)) {
      known.rise = PhChange{*rise};
    }
    known.rise_unknown_for = climb_.unknown_for(now.mono);
    if (pulse == Pulse::mixed_in) {
      known.residual = course_.residual(now, Ph{ph.value});
      if (const auto reference = reference_.ph()) {
        known.above_reference = course_.above(now, Ph{ph.value}, *reference);
      }
    }
  }
  known.dose_effect = effect_.against_usual();
  known.rise_per_ml = tested_rise();
}

void Water::learn(Moment now, const rules::Snapshot& known, Pulse pulse, rules::Teaches teaches,
                  Effects& effects) {
  const signal::Reading ph = rules::counting_ph(known);
  if (ph.quality != signal::Quality::good) {
    return;
  }
  climb_.seen(now.mono);
  if (known.disturbed_until && now.mono < *known.disturbed_until) {
    return;
  }
  if (known.temperature.quality == signal::Quality::good) {
    response_.take(Ph{ph.value}, Celsius{known.temperature.value});
  }
  course_.expect(now.mono, response_.per_millilitre(), effect_.expected());
  if (const auto today =
          effect_.take(now, Ph{ph.value}, course_.by_chemistry(now.mono), known.stirrer, effects)) {
    anchor_.take(now, *today, effect_.if_learned(), effects);
  }
  climb_.learn(now.mono, ph.value);
  if (pulse == Pulse::mixed_in) {
    course_.take(
        now, Ph{ph.value},
        teaches == rules::Teaches::yes ? UsualCourse::Teaches::yes : UsualCourse::Teaches::no,
        effects);
  }
}

std::optional<dosing::DayOfPh> Water::undosed_day(Moment now, Millilitres volume) const {
  const auto undosed = course_.undosed_day(now);
  if (!undosed) {
    return std::nullopt;
  }
  const PhChange each = response_.per_millilitre() * effect_.expected();
  return dosing::DayOfPh{*undosed, each * volume.count(), UsualCourse::kFades};
}

void Water::relearn(Effects& effects) {
  course_.forget();
  anchor_.begin_anew(effects);
  effects.emplace_back(ForgetCourse{});
}

void Water::released(const rules::Hold& hold, Effects& effects) {
  if (std::holds_alternative<rules::EffectTooLarge>(hold)) {
    effect_.begin_anew(effects);
  }
}

void Water::store(Effects& effects) const {
  reference_.store(effects);
  anchor_.store(effects);
}

std::optional<SeenBefore> Water::seen() const {
  const auto newest = climb_.newest_undisturbed();
  return newest ? std::optional{SeenBefore{*newest, course_.newest_left()}} : std::nullopt;
}

void Water::show(Moment now, const signal::Reading& ph, Status& status) const {
  status.usual_ph = course_.usual(now);
  status.usual_course_days_to_go = course_.days_to_go();
  status.usual_effect = effect_.if_learned();
  status.effect_today = effect_.by_chemistry();
  status.usual_effect_days_to_go = effect_.days_to_go();
  status.reference = reference_.ph();
  if (status.reference && ph.quality != signal::Quality::bad) {
    status.above_reference = course_.above(now, Ph{ph.value}, *status.reference);
  }
  status.volume_share = reference_.share();
  status.halved = sentence_of(halved());
}

}  // namespace limegate::station
