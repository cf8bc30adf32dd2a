#include "station/station.h"

#include <algorithm>
#include <utility>

namespace limegate::station {

Station::Station(Settings settings, const History& history, Moment now)
    : settings_(std::move(settings)),
      lifetime_before_boot_(history.lifetime_before_boot),
      wishes_(settings_.plan.day_volume, history.wishes, stamp(now), now.mono),
      book_(settings_.water.volume, settings_.plan.reactor_bore, history.book),
      probes_(settings_),
      water_(settings_, history, now),
      gate_(settings_, history, now.mono),
      schedule_(settings_, history, present(), now),
      doser_(settings_, history, now),
      stirrer_(settings_.stirrer, settings_.plan.stir, history, now.mono),
      vigil_(settings_, history, wishes_.volume_asked(), now),
      upkeep_(settings_),
      begins_gently_(is_new(history) && settings_.begins_with &&
                     wishes_.day_volume() > *settings_.begins_with) {
  water_.take(tested(now));
  const auto seen = believable(history.seen, now.mono, settings_.limits.climb_window);
  water_.take_up(history, seen, now);
  if (seen) {
    gate_.take_up(
        *seen, {probes_.has_second_ph(), water_.course_days_to_go() == 0, water_.has_reference()});
  }
}

Effects Station::step(Moment now) {
  Effects effects;
  begin_gently(now, effects);
  end_service(now, effects);
  come_back(now, effects);
  note_disturbance(now.mono);
  water_.follow(now);
  water_.take(tested(now));
  const Due due = this->due(now);
  water_.step(now, effects);
  recording_.step(now, effects);
  schedule_.note_in_force(stamp(now), present(), effects);
  rules::Snapshot known = snapshot(now, due.volume);
  if (due.what == Due::For::plan) {
    known.day_in_force = schedule_.day_bound(stamp(now), known.rise_per_ml);
  }
  water_.learn(now, known, newest_pulse(now.mono), gate_.teaches(), effects);
  const Gate::Verdict verdict = gate_.judge(now, known, effects);
  ease(now, known, effects);
  doser_.step(now, verdict.ends_pulse, effects);
  give(now, due, verdict, effects);
  stirrer_.step(now, stamp(now), stirrer_may(now.mono), effects);
  watch(now, known, effects);
  take_note(now, effects);
  return effects;
}

dosing::Stamp Station::stamp(Moment now) const {
  return {now.mono.time_since_epoch() + lifetime_before_boot_, now.wall};
}

Schedule::Present Station::present() const {
  return {wishes_.volumes(), water_.halved(), water_.share(), water_.tested_rise()};
}

std::optional<WaterResponse::Tested> Station::tested(Moment now) const {
  using Counts = WaterResponse::Tested::Counts;
  const auto newest = book_.alkalinity({now, stamp(now)});
  if (!newest) {
    return std::nullopt;
  }
  const bool counts =
      newest->age >= Duration::zero() && newest->age <= settings_.limits.alkalinity_counts_for;
  return WaterResponse::Tested{newest->level, counts ? Counts::yes : Counts::no};
}

Water::Pulse Station::newest_pulse(Instant now) const {
  return probes_.mixed(now) ? Water::Pulse::mixed_in : Water::Pulse::mixing;
}

std::optional<dosing::Window> Station::clear_window(Instant now) const {
  return stirrer_.clear_window(now, settings_.limits.settle);
}

rules::Snapshot Station::snapshot(Moment now, Millilitres asked) const {
  rules::Snapshot known;
  probes_.know(now.mono, known);
  water_.know(now, newest_pulse(now.mono), known);
  doser_.know(now, known);
  stirrer_.know(now.mono, known);
  recording_.know(known);
  known.paused_until = stopping_until_ ? stopping_until_ : wishes_.paused_until();
  known.alkalinity = book_.alkalinity({now, stamp(now)});
  known.next_pulse = asked;
  return known;
}

void Station::note_disturbance(Instant now) {
  // An observed or switched stirrer disturbs as much as the pump does.
  if (doser_.pump().may_flow()) {
    probes_.disturb(now, Probes::By::pump);
  } else if (stirrer_.known(now).state == rules::StirrerKnown::State::running) {
    probes_.disturb(now, Probes::By::stirrer);
  }
}

Station::Due Station::due(Moment now) {
  const auto window = clear_window(now.mono);
  if (window && schedule_.opens(*window, now.mono)) {
    const Schedule::Present present = this->present();
    std::optional<Instant> asked;
    if (const auto& when = wishes_.volume_asked()) {
      asked = Instant{when->lifetime - lifetime_before_boot_};
    }
    schedule_.open(*window, now, present,
                   water_.undosed_day(now, schedule_.present_plan(present).day_volume), asked);
  }
  // A pulse in hand is counted already, and a spent allowance is no hold while none is due.
  if (!doser_.resting()) {
    return {};
  }
  const auto rise = water_.tested_rise();
  if (doser_.attended().under_way()) {
    return {Due::For::attended, doser_.attended().next_pulse(schedule_.largest_pulse(rise))};
  }
  const auto due = window ? schedule_.due(*window, now.mono, rise) : std::nullopt;
  return due ? Due{Due::For::plan, due->volume, due->slot} : Due{};
}

void Station::ease(Moment now, const rules::Snapshot& known, Effects& effects) {
  if (gate_.water_holds()) {
    schedule_.drop_missed();
  }
  water_.ease({now, stamp(now)},
              gate_.risen()           ? Reference::Rise::far_above
              : known.above_reference ? Reference::Rise::none
                                      : Reference::Rise::unknown,
              wishes_.day_volume(), effects);
}

void Station::give(Moment now, const Due& due, const Gate::Verdict& verdict, Effects& effects) {
  if (due.what == Due::For::attended) {
    const auto volume = doser_.attended().go_on(
        now, gate_.holds(), schedule_.largest_pulse(water_.tested_rise()), effects);
    if (volume) {
      (void)doser_.reserve(now, *volume, effects);
    }
  } else if (due.what == Due::For::plan && verdict.open) {
    schedule_.used(due.slot, doser_.reserve(now, due.volume, effects));
  }
}

StirDuty::May Station::stirrer_may(Instant now) const {
  if (gate_.stirrer_rests() || wishes_.service_until() ||
      doser_.pump().watch().known(now) != rules::OutletKnown::as_commanded) {
    return StirDuty::May::rest;
  }
  return doser_.rests() && !recording_.fault() && !recording_.slow(now) ? StirDuty::May::begin
                                                                        : StirDuty::May::go_on;
}

void Station::watch(Moment now, const rules::Snapshot& known, Effects& effects) {
  if (doser_.pump().phase() == PumpDuty::Phase::running && !doser_.attended().under_way()) {
    vigil_.dosing(now.mono);
  }
  if (const auto dose = doser_.begins(now.mono, effects)) {
    water_.dose_begins(now, dose->undosed, effects);
  }
  const auto why = [&] {
    std::string sentences;
    // Also what would hold a pulse that is not due just now.
    const dosing::PlanShape& shape = schedule_.shape();
    for (const rules::Hold& hold : gate_.holds_for(now.mono, snapshot(now, shape.pulse_volume))) {
      sentences += " " + rules::sentence_of(hold);
    }
    return sentences +
           (shape.pulses_per_window == 0 ? " The day's volume was set to 0 mL from afar." : "");
  };
  const Millilitres wished = wishes_.wished();
  vigil_.note_silence(now, wished, why, effects);
  if (vigil_.day_is_over(now.mono)) {
    vigil_.note_day(now, schedule_.in_force(wished, present()) * water_.share(),
                    doser_.given_day(now), effects);
  }
  vigil_.note_long_holds(now, gate_.holds(), gate_.standing(), effects);
  vigil_.note_temperature(now, known.temperature, effects);
  book_.step(now, known.alkalinity, settings_.limits.alkalinity_counts_for, effects);
  if (upkeep_.is_due(now.mono, book_.changes())) {
    upkeep_.look(
        {now, stamp(now), book_.entries(), book_.changes(), doser_.given_in_all(),
         schedule_.in_force(wishes_.day_volume(), present()), wishes_.day_volume_at_station()},
        effects);
  }
  doser_.tell(now, effects);
}

void Station::take_note(Moment now, const Effects& effects) {
  if (const auto ended = doser_.count(effects)) {
    if (ended->fate == Fate::not_given && recording_.was_slow(now.mono)) {
      schedule_.not_sent(ended->id);
    }
    water_.dosed(now.mono, ended->counted);
    const bool by_plan = !doser_.attended().under_way() && ended->fate != Fate::found;
    schedule_.given(by_plan ? ended->counted : Millilitres{0.0});
  }
  recording_.asked(now.mono, effects);
}

void Station::recount(Moment now, const History& again) {
  for (const dosing::Dose& dose : doser_.recount(now, again.doses)) {
    recording_.lacks(dose);
  }
  gate_.add(again.latches);
  book_.recount(again.book);
}

std::optional<SeenBefore> Station::seen() const {
  std::optional<SeenBefore> seen = water_.seen();
  if (seen) {
    gate_.leave(*seen);
  }
  return seen;
}

}  // namespace limegate::station
