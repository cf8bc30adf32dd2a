#include "station/station.h"

#include <algorithm>
#include <chrono>
#include <utility>

#include "station/latched_memory.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

/// Until a pulse has mixed in, the probe may see far more of it than its share, or nothing yet. The
/// plain limit of a climb judges meanwhile. Source: a sump of a fifth of the water that is passed
/// five times an hour mixes with a time constant of three minutes; of 1 to 10 min this gave the
/// fewest false holds in tests/benchmarks/climb_benchmark.cpp.
constexpr Duration kMixesIn = 3min;

void note_latches(const rules::Memory& before, const rules::Memory& after, Effects& effects) {
  for (const rules::Remembered& one : rules::remembered()) {
    if (one.clears == rules::Clears::by_person && !(before.*one.flag) && after.*one.flag) {
      effects.emplace_back(StoreLatch{one.code, StoreLatch::To::latched});
    }
  }
}

bool ph_went_wrong(const rules::Memory& memory) {
  return std::any_of(rules::remembered().begin(), rules::remembered().end(),
                     [&](const rules::Remembered& one) {
                       return one.teaches == rules::Teaches::no && memory.*one.flag;
                     });
}

bool may_flow_uncommanded(const rules::Memory& memory) {
  return std::any_of(rules::remembered().begin(), rules::remembered().end(),
                     [&](const rules::Remembered& one) {
                       return one.flow == rules::Flow::perhaps_uncommanded && memory.*one.flag;
                     });
}

}  // namespace

dosing::Stamp Station::stamp(Moment now) const {
  return {now.mono.time_since_epoch() + lifetime_before_boot_, now.wall};
}

signal::Reading Station::reading(rules::Role role, Instant now) const {
  if (role == rules::Role::temperature) {
    return temperature_.reading(now);
  }
  return second_ph_ ? signal::higher_of(ph_.reading(now), second_ph_->reading(now))
                    : ph_.reading(now);
}

rules::Snapshot Station::snapshot(Moment now, Millilitres asked) const {
  const dosing::Stamp today = stamp(now);
  rules::Snapshot known;
  known.ph = ph_.reading(now.mono);
  known.temperature = temperature_.reading(now.mono);
  if (second_ph_) {
    known.second_ph = second_ph_->reading(now.mono);
  }
  if (const signal::Reading ph = rules::counting_ph(known); ph.quality != signal::Quality::bad) {
    if (const auto rise = climb_.rise(now.mono, ph.value)) {
      known.rise = PhChange{*rise};
    }
    known.rise_unknown_for = climb_.unknown_for(now.mono);
    known.residual = mixed(now.mono) ? course_.residual(now, Ph{ph.value}) : std::nullopt;
    if (const auto reference = reference_.ph(); reference && mixed(now.mono)) {
      known.above_reference = course_.above(now, Ph{ph.value}, *reference);
    }
  }
  known.disturbed_until = disturbed_until_;
  known.pump_flow =
      pump_.may_flow() ? rules::Snapshot::PumpFlow::possible : rules::Snapshot::PumpFlow::none;
  if (const auto since = pump_.flows_since()) {
    known.flowing_for = now.mono - *since;
  }
  known.stirrer = stir_.known(now.mono);
  known.pump_outlet = pump_.watch().known(now.mono);
  known.stirrer_outlet = stir_.outlet(now.mono);
  known.pump_found = pump_.found();
  known.stirrer_found = stir_.found();
  if (pump_.timer_failed()) {
    known.pump_timer = rules::Snapshot::PumpTimer::failed;
  }
  known.ledger_fault = ledger_fault_;
  known.disk_slow_until = disk_.slow_until();
  known.paused_until = stopping_until_ ? stopping_until_ : wishes_.paused_until();
  known.given_hour = account_.last_hour(today);
  known.given_day = account_.last_day(today);
  known.next_pulse = asked;
  known.least_pulse = dosing::least_pulse(settings_.plan);
  known.dose_effect = effect_.against_usual();
  known.rise_per_ml = response_.tested_per_millilitre();
  return known;
}

void Station::note_disturbance(Instant now) {
  if (pump_.may_flow()) {
    mixed_at_ = now + kMixesIn;
  }
  // An observed or switched stirrer disturbs as much as the pump does.
  if (pump_.may_flow() || stir_.known(now).state == rules::StirrerKnown::State::running) {
    disturbed_until_ = now + settings_.limits.undisturbed;
  }
}

void Station::learn_from(Moment now, const signal::Reading& ph, Effects& effects) {
  if (ph.quality != signal::Quality::good) {
    return;
  }
  climb_.seen(now.mono);
  if (disturbed_until_ && now.mono < *disturbed_until_) {
    return;
  }
  const signal::Reading temperature = temperature_.reading(now.mono);
  if (temperature.quality == signal::Quality::good) {
    response_.take(Ph{ph.value}, Celsius{temperature.value});
  }
  course_.expect(now.mono, response_.per_millilitre(), effect_.expected());
  if (const auto today = effect_.take(now, Ph{ph.value}, course_.by_chemistry(now.mono),
                                      stir_.known(now.mono), effects)) {
    anchor_.take(now, *today, effect_.if_learned(), effects);
  }
  climb_.learn(now.mono, ph.value);
  if (!mixed(now.mono)) {
    return;
  }
  const bool wrong = ph_went_wrong(memory_);
  course_.take(now, Ph{ph.value}, wrong ? UsualCourse::Teaches::no : UsualCourse::Teaches::yes,
               effects);
}

Effects Station::step(Moment now) {
  Effects effects;
  if (std::exchange(begins_gently_, false)) {
    begin_gently(now, effects);
  }
  note_disturbance(now.mono);
  course_.follow(now);
  // A pulse in hand is counted already, and a spent allowance is no hold while none is due.
  const bool resting = pump_.phase() == PumpDuty::Phase::resting;
  const auto window = stir_.clear_window(now.mono, settings_.limits.settle);
  if (window) {
    shape_for(*window, now);
  }
  const auto slot = window && resting && !attended_ ? slot_due(*window, now.mono) : std::nullopt;
  const Millilitres pulse = slot ? planned_pulse(*slot) : Millilitres{};
  const Millilitres asked = resting && attended_ ? attended_pulse() : pulse;
  anchor_.step(now, effects);
  disk_.step(now, effects);
  note_volume_in_force(now, effects);
  rules::Snapshot known = snapshot(now, asked);
  if (slot) {
    known.day_in_force = volumes_.largest(stamp(now)) + largest_pulse();
  }
  learn_from(now, rules::counting_ph(known), effects);
  rules::Judgement judgement = rules::judge(now.mono, known, settings_.limits, memory_);
  owner_.step(now, known, judgement.holds, effects);
  note_stuck_again(now, known, effects);
  note_latches(memory_, judgement.memory, effects);
  memory_ = judgement.memory;
  note_changes(now, judgement, effects);
  if (ph_went_wrong(memory_) || memory_.risen_tripped || memory_.effect_too_large_latched) {
    window_plan_.drop_missed();
  }
  reference_.ease({now, stamp(now)},
                  memory_.risen_tripped   ? Reference::Rise::far_above
                  : known.above_reference ? Reference::Rise::none
                                          : Reference::Rise::unknown,
                  wishes_.day_volume(), effects);

  pump_.step(now, !judgement.ends_pulse(), effects);
  if (attended_ && resting) {
    go_on_attended(now, effects);
  } else if (slot && judgement.open()) {
    last_slot_ = slot;
    pump_.reserve(now.mono, stamp(now), pulse, dosing::duration_of(pulse, settings_.plan), effects);
    slot_pulse_ = pump_.pulse().id;
  }
  stir_.step(now, stamp(now), stirrer_may(now.mono), effects);
  if (pump_.phase() == PumpDuty::Phase::running && !attended_) {
    last_dosed_ = now.mono;
  }
  note_first_dose(now, effects);
  note_silence(now, effects);
  note_shortfall(now, effects);
  note_long_holds(now, effects);
  note_temperature(now, known.temperature, effects);
  note_pulses(now, effects);
  take_note(now, effects);
  return effects;
}

StirDuty::May Station::stirrer_may(Instant now) const {
  // Clear limewater that flows uncommanded is bad enough; stirred, it is milk.
  // And who switched everything off wants nothing to run.
  if (may_flow_uncommanded(memory_) || memory_.switched_off_latched ||
      pump_.watch().known(now) != rules::OutletKnown::as_commanded) {
    return StirDuty::May::rest;
  }
  const bool pump_rests =
      pump_.phase() == PumpDuty::Phase::resting && pump_.watch().confirmed_off();
  const bool disk_slow = disk_.slow_until() && now < *disk_.slow_until();
  return pump_rests && !ledger_fault_ && !disk_slow ? StirDuty::May::begin : StirDuty::May::go_on;
}

std::vector<std::string> Station::latches() const {
  std::vector<std::string> codes = owner_.latches();
  codes.insert(codes.end(), memory_.unknown_latches.begin(), memory_.unknown_latches.end());
  for (const rules::Remembered& one : rules::remembered()) {
    if (one.clears == rules::Clears::by_person && memory_.*one.flag) {
      codes.push_back(one.code);
    }
  }
  return codes;
}

void Station::recount(Moment now, const History& again) {
  account_.prune(stamp(now));
  for (const dosing::Dose& mine : account_.doses()) {
    if (std::none_of(again.doses.begin(), again.doses.end(),
                     [&](const dosing::Dose& dose) { return dose.id == mine.id; })) {
      unrecorded_.counted(mine);
    }
  }
  for (const dosing::Dose& dose : again.doses) {
    account_.merge(dose);
  }
  add_latches(again.latches, memory_);
}

void Station::take_note(Moment now, const Effects& effects) {
  count(now, effects);
  disk_.asked(now.mono, effects);
}

/// What is stated again after a fault was noted when it ended.
bool Station::ends_newest(const ClosePulse& closed) const {
  return closed.id == pump_.pulse().id && closed.id != noted_pulse_;
}

void Station::count(Moment now, const Effects& effects) {
  for (const Effect& effect : effects) {
    if (const auto* append = std::get_if<AppendPulse>(&effect)) {
      account_.prune(append->pulse.reserved);
      account_.add({append->pulse.id, append->pulse.end, append->pulse.volume});
    } else if (const auto* closed = std::get_if<ClosePulse>(&effect)) {
      account_.revise(closed->id, closed->counted);
      if (!ends_newest(*closed)) {
        continue;
      }
      noted_pulse_ = closed->id;
      if (closed->fate == Fate::not_given && closed->id == slot_pulse_ &&
          disk_.slow_until() >= now.mono) {
        last_slot_.reset();  // it is due again
      }
      course_.dosed(now.mono, closed->counted);
      window_plan_.given(attended_ || closed->fate == Fate::found ? Millilitres{0.0}
                                                                  : closed->counted);
    }
  }
}

}  // namespace limegate::station
