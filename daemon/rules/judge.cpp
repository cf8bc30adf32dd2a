#include "rules/judge.h"

#include <algorithm>
#include <chrono>
#include <cmath>

#include "rules/judge_evidence.h"

namespace limegate::rules {
namespace {

/// Closing is quick. Opening is slow: only a good and undisturbed pH clears what was tripped.
bool calm(Instant now, const Snapshot& known) {
  return known.ph.quality == signal::Quality::good &&
         (!known.disturbed_until || now >= *known.disturbed_until);
}

/// Clears below this part of the limit.
constexpr double kClimbClears = 2.0 / 3.0;
constexpr double kRiseClears = 0.75;
constexpr double kDisagreementClears = 2.0 / 3.0;

/// What was tripped stays while it can't be seen, but no longer than this: beside a course that was
/// lost it would stand for ever. From then on the plain limit of a climb judges, as it does at
/// every station that has learned no course. Source: our own reasoning.
constexpr Duration kUnseenMax = std::chrono::hours{12};

struct ChangeLimit {
  PhChange trips, clears;
};

void judge_change(PhChange change, const ChangeLimit& limit, bool may_clear, bool& unsure,
                  bool& tripped) {
  if (!std::isfinite(change.count()) || !(change < (unsure ? limit.clears : limit.trips))) {
    tripped = true;
  } else if (may_clear && change < limit.clears) {
    tripped = false;
  }
  unsure = unsure && !may_clear;
}

/// `unseen_since` = that of the change which is judged beside the course; it is brought up to date.
bool worn_off(Instant now, const Snapshot& known, const Memory& memory, bool seen,
              std::optional<Instant>& unseen_since) {
  if (seen) {
    unseen_since.reset();
    return false;
  }
  if (!unseen_since || *unseen_since > now) {
    unseen_since = now;
  }
  return now - *unseen_since >= kUnseenMax && known.rise && !memory.climb_tripped &&
         calm(now, known);
}

void judge_ph(Instant now, const Snapshot& known, const Limits& limits, Judgement& out) {
  const signal::Reading& ph = known.ph;
  const bool plausible_raw = ph.newest >= limits.ph_plausible_low &&
                             ph.newest <= limits.ph_plausible_high &&
                             ph.reason != signal::Reason::missing;
  // The raw value trips, and the filtered one clears.
  const bool good = ph.quality == signal::Quality::good;
  const Ph trips = out.memory.unsure.ceiling ? limits.ceiling_resume : limits.ceiling;
  if ((plausible_raw && !(Ph{ph.newest} < limits.ceiling)) || (good && !(Ph{ph.value} < trips))) {
    out.memory.ceiling_tripped = true;
  } else if (calm(now, known) && Ph{ph.value} < limits.ceiling_resume) {
    out.memory.ceiling_tripped = false;
  }
  out.memory.unsure.ceiling = out.memory.unsure.ceiling && !calm(now, known);
  const auto shown =
      plausible_raw ? std::optional{Ph{std::max(ph.newest, ph.value)}} : std::nullopt;
  if (out.memory.ceiling_tripped) {
    out.holds.emplace_back(CeilingReached{shown, limits.ceiling, limits.ceiling_resume});
  }
  // The latch wants the filtered value: a person must come for it, so one noisy sample won't do.
  if (ph.quality != signal::Quality::bad && !(Ph{ph.value} < limits.second_ceiling)) {
    out.memory.second_ceiling_latched = true;
  }
  if (out.memory.second_ceiling_latched) {
    out.holds.emplace_back(SecondCeilingReached{shown, limits.second_ceiling});
  }
  if (known.rise) {
    judge_change(*known.rise, {limits.climb, limits.climb * kClimbClears}, calm(now, known),
                 out.memory.unsure.climb, out.memory.climb_tripped);
  } else if (ph.quality != signal::Quality::bad) {
    // A bad probe has holds of its own.
    out.holds.emplace_back(ClimbUnknown{known.rise_unknown_for, limits.climb_window});
  }
  if (out.memory.climb_tripped) {
    out.holds.emplace_back(Climbing{known.rise, limits.climb, limits.climb_window});
  }
}

/// Beside the usual course of the day: an unusual climb holds and clears by itself. One that goes
/// on while the pump rests is none of ours, and waits for a person. While it can't be seen, what
/// was tripped stays, for half a day.
void judge_residual(Instant now, const Snapshot& known, const Limits& limits, Judgement& out) {
  Memory& memory = out.memory;
  if (known.residual) {
    judge_change(known.residual->climb, {limits.unusual_climb, limits.unusual_climb * kClimbClears},
                 calm(now, known), memory.unsure.unusual_climb, memory.unusual_climb_tripped);
  }
  if (worn_off(now, known, memory, known.residual.has_value(), memory.residual_unseen_since)) {
    memory.unusual_climb_tripped = false;
  }
  if (!memory.unusual_climb_tripped || known.pump_flow == Snapshot::PumpFlow::possible ||
      (memory.climb_at_rest && memory.climb_at_rest->since > now)) {
    memory.climb_at_rest.reset();
  } else if (known.residual && !memory.climb_at_rest) {
    memory.climb_at_rest = {now, known.residual->value};
  } else if (known.residual) {
    Memory::AtRest& rest = *memory.climb_at_rest;
    rest.lowest = std::min(rest.lowest, known.residual->value);
    if (now - rest.since >= limits.climb_goes_on_for &&
        !(known.residual->value - rest.lowest < limits.climb_goes_on)) {
      memory.climb_goes_on_latched = true;
    }
  }
  if (memory.unusual_climb_tripped) {
    out.holds.emplace_back(UnusualClimb{
        known.residual ? std::optional{known.residual->climb} : std::nullopt, limits.unusual_climb,
        limits.climb_allowance_per_h, known.residual ? known.residual->pace : signal::Pace::slow});
  }
  if (memory.climb_goes_on_latched) {
    out.holds.emplace_back(ClimbGoesOn{limits.climb_goes_on, limits.climb_goes_on_for});
  }
}

void judge_rise(Instant now, const Snapshot& known, const Limits& limits, Judgement& out) {
  const auto& rise = known.above_reference;
  const PhChange resume = limits.rise * kRiseClears;
  if (rise) {
    judge_change(*rise, {limits.rise, resume}, calm(now, known), out.memory.unsure.risen,
                 out.memory.risen_tripped);
  }
  if (worn_off(now, known, out.memory, rise.has_value(), out.memory.rise_unseen_since)) {
    out.memory.risen_tripped = false;
  }
  if (out.memory.risen_tripped) {
    out.holds.emplace_back(Risen{rise, limits.rise, resume});
  }
}

void judge_agreement(Instant now, const Snapshot& known, const Limits& limits, bool may_clear,
                     Judgement& out) {
  Memory& memory = out.memory;
  const signal::Reading& second = *known.second_ph;
  if (known.ph.quality == signal::Quality::bad || second.quality == signal::Quality::bad) {
    memory.disagree_since.reset();
  } else {
    const PhChange apart{std::abs(known.ph.value - second.value)};
    if (apart < limits.ph_disagreement) {
      memory.disagree_since.reset();
    } else if (!memory.disagree_since || *memory.disagree_since > now) {
      memory.disagree_since = now;
    }
    if (!(apart < limits.ph_disagreement * kDisagreesAtOnce) ||
        (memory.disagree_since && now - *memory.disagree_since >= limits.ph_disagreement_for)) {
      memory.disagreement_tripped = true;
    } else if (may_clear && apart < limits.ph_disagreement * kDisagreementClears) {
      memory.disagreement_tripped = false;
    }
  }
  if (memory.disagreement_tripped) {
    out.holds.emplace_back(ProbesDisagree{Ph{known.ph.value}, Ph{second.value},
                                          limits.ph_disagreement, limits.ph_disagreement_for});
  }
}

void judge_outlet(OutletRole role, OutletKnown known, bool& latched, Holds& holds) {
  latched = latched || known == OutletKnown::stuck_on;
  if (latched) {
    holds.emplace_back(OutletStuckOn{role});
  } else if (known != OutletKnown::as_commanded) {
    holds.emplace_back(OutletUnconfirmed{role});
  }
}

void judge_found(OutletRole role, Found found, bool& latched, Holds& holds) {
  latched = latched || found == Found::again;
  if (latched) {
    holds.emplace_back(OutletFoundOn{role});
  }
}

void judge_effect(const Snapshot& known, const Limits& limits, Judgement& out) {
  const auto& effect = known.dose_effect;
  Memory& memory = out.memory;
  if (!memory.effect_too_large_latched && effect && !(effect->share < limits.effect_too_large) &&
      !(effect->at_least < limits.effect_surely_large) &&
      !(effect->of_chemistry < limits.effect_above_chemistry)) {
    memory.effect_too_large_latched = true;
    memory.effect_seen = effect->share;
  }
  if (memory.effect_too_large_latched) {
    out.holds.emplace_back(EffectTooLarge{memory.effect_seen, limits.effect_too_large});
  }
}

void judge_allowance(const Snapshot& known, const Limits& limits, Holds& holds) {
  // Sums of many doses carry rounding in the last bits; a thousandth of a millilitre is no dose.
  constexpr Millilitres rounding{0.001};
  const auto fits = [&](Millilitres given, Millilitres limit) {
    const Millilitres sum = given + known.next_pulse;
    return std::isfinite(sum.count()) && sum <= limit + rounding;
  };
  if (const Millilitres bearable =
          volume_within(limits.pulse_rise, known.rise_per_ml, known.least_pulse);
      !(known.least_pulse <= bearable)) {
    holds.emplace_back(TimerStepTooLong{known.least_pulse, bearable});
  }
  const Millilitres hour = volume_within(limits.hour_rise, known.rise_per_ml, limits.hour);
  if (!fits(known.given_hour, hour)) {
    holds.emplace_back(HourAllowanceSpent{known.given_hour, known.next_pulse, hour});
  }
  const auto& in_force = known.day_in_force;  // not a number holds
  const Millilitres day = in_force && !(*in_force >= limits.day) ? *in_force : limits.day;
  if (!fits(known.given_day, day)) {
    holds.emplace_back(DayAllowanceSpent{known.given_day, known.next_pulse, day});
  }
}

/// What no measurement has to do with: what a person switched off, and what the record brought
/// along.
void judge_kept(Judgement& out) {
  if (out.memory.switched_off_latched) {
    out.holds.emplace_back(SwitchedOff{});
  }
  if (out.memory.record_latched) {
    out.holds.emplace_back(RecordLost{});
  }
  for (const std::string& code : out.memory.unknown_latches) {
    out.holds.emplace_back(UnknownLatch{code});
  }
}

}  // namespace

Judgement judge(Instant now, const Snapshot& known, const Limits& limits, const Memory& memory) {
  Judgement out{{}, memory};
  judge_stirrer(now, known, limits, out.holds);
  judge_reading(Role::ph, known.ph, known.flowing_for, limits, out.holds);
  if (known.second_ph) {
    judge_reading(Role::second_ph, *known.second_ph, known.flowing_for, limits, out.holds);
  }
  judge_reading(Role::temperature, known.temperature, known.flowing_for, limits, out.holds);
  // Beside the probes themselves, every rule goes by the one that shows more.
  std::optional<Snapshot> of_two;
  if (known.second_ph) {
    of_two = known;
    of_two->ph = counting_ph(known);
    judge_agreement(now, known, limits, calm(now, *of_two), out);
  }
  const Snapshot& counting = of_two ? *of_two : known;
  judge_proof(now, counting, limits, out);
  judge_ph(now, counting, limits, out);
  judge_residual(now, counting, limits, out);
  judge_rise(now, counting, limits, out);
  judge_effect(known, limits, out);
  judge_outlet(OutletRole::pump, known.pump_outlet, out.memory.pump_stuck_latched, out.holds);
  judge_outlet(OutletRole::stirrer, known.stirrer_outlet, out.memory.stirrer_stuck_latched,
               out.holds);
  judge_found(OutletRole::pump, known.pump_found, out.memory.pump_found_latched, out.holds);
  judge_found(OutletRole::stirrer, known.stirrer_found, out.memory.stirrer_found_latched,
              out.holds);
  out.memory.pump_timer_latched =
      memory.pump_timer_latched || known.pump_timer == Snapshot::PumpTimer::failed;
  if (out.memory.pump_timer_latched) {
    out.holds.emplace_back(PumpTimerFailed{});
  }
  judge_kept(out);
  judge_allowance(known, limits, out.holds);
  if (known.disturbed_until && now < *known.disturbed_until) {
    out.holds.emplace_back(ProbeDisturbed{*known.disturbed_until - now});
  }
  if (known.paused_until && now < *known.paused_until) {
    out.holds.emplace_back(Paused{*known.paused_until - now});
  }
  if (known.disk_slow_until && now < *known.disk_slow_until) {
    out.holds.emplace_back(DiskSlow{*known.disk_slow_until - now});
  }
  if (known.ledger_fault) {
    out.holds.emplace_back(LedgerNotWritable{*known.ledger_fault});
  }
  return out;
}

}  // namespace limegate::rules
