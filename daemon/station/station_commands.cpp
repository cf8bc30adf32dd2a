// What a station makes of a command: from afar only less, at the station within every limit.

#include <algorithm>
#include <chrono>
#include <cmath>
#include <utility>

#include "care/entry_reader.h"
#include "care/powder.h"
#include "station/station_obeys.h"

namespace limegate::station {
namespace {

/// Stirring takes at most this share of the time.
constexpr int kStirShare = 4;

}  // namespace

void Station::begin_gently(Moment now, Effects& effects) {
  if (!std::exchange(begins_gently_, false)) {
    return;
  }
  const Millilitres in_file = wishes_.day_volume();
  const Obeys obeys{*this, now, Origin::station, effects};
  if (obeys(SetDayVolume{*settings_.begins_with}).verdict == Answer::Verdict::accepted) {
    effects.emplace_back(
        Raise{{now.wall, Severity::warning, "volume-begins-at-half",
               "Hardly anything was dosed here yet, so the day's volume begins with " +
                   rules::volume_for_people(wishes_.day_volume()) +
                   ", half of the evaporation, and not with the file's " +
                   rules::volume_for_people(in_file) +
                   ". Test the water for a week or two, then say more: limegate volume."}});
  }
}

Station::Commanded Station::command(Moment now, const Command& command, Origin origin) {
  Commanded done{refused("This is done at the station only, not from afar."), {}};
  if (permits(origin, command)) {
    done.answer = std::visit(Obeys{*this, now, origin, done.effects}, command);
  }
  take_note(now, done.effects);
  return done;
}

Answer Station::Obeys::operator()(const Pause& pause) const {
  if (pause.lasting <= Duration::zero()) {
    return refused("A pause needs a time above zero; 24 h at most.");
  }
  station.wishes_.pause({now.mono, station.stamp(now)}, pause.lasting, origin, effects);
  station.doser_.stop(now.mono, effects);
  return accepted("Paused for " + rules::for_people(std::min(pause.lasting, kPauseMax)) +
                  after_pause(origin));
}

/// Only what is so: another pause, or a hold, may stand when this one is over.
std::string Station::Obeys::after_pause(Origin by) const {
  if (const auto& work = station.wishes_.service_until(); work && *work > now.mono) {
    return "; work at the reactor lasts for another " + rules::for_people(*work - now.mono) +
           ", and then the limewater settles.";
  }
  const Origin other = by == Origin::station ? Origin::afar : Origin::station;
  const auto until = station.wishes_.paused_until(by);
  const auto others = station.wishes_.paused_until(other);
  if (until && others && *others > *until) {
    return std::string{"; the pause set "} +
           (other == Origin::station ? "at the station" : "from afar") +
           " lasts longer, for another " + rules::for_people(*others - now.mono) + ".";
  }
  std::string held;
  for (const rules::Hold& hold : station.holds()) {
    if (!std::holds_alternative<rules::Paused>(hold)) {
      held += (held.empty() ? "" : ", ") + rules::code_of(hold);
    }
  }
  return held.empty() ? "; dosing then goes on by itself."
                      : ". Dosing is held beside that (" + held +
                            "), and goes on only once nothing holds it.";
}

Answer Station::Obeys::operator()(const Resume& /*resume*/) const {
  const auto lasts = [&](Origin from) {
    const auto until = station.wishes_.paused_until(from);
    return until && *until > now.mono;
  };
  const bool at_station = lasts(Origin::station);
  if (origin == Origin::afar && at_station && !lasts(Origin::afar)) {
    return refused("The pause was set at the station; it is ended only there, or by its time.");
  }
  if (!at_station && !lasts(Origin::afar)) {
    return refused("Dosing is not paused.");
  }
  station.wishes_.resume(now.mono, origin, effects);
  if (origin == Origin::afar && at_station) {
    return accepted("The pause from afar is over; the one set at the station goes on.");
  }
  return accepted("No longer paused. Every other hold stays as it is.");
}

Answer Station::Obeys::operator()(const Release& release) const {
  // It could not be written down, and would be back at the next start.
  if (const auto cannot = unwritable()) {
    return *cannot;
  }
  Effects latch;
  const Gate::Release done =
      station.gate_.release(release.hold, station.snapshot(now, Millilitres{}), latch);
  if (done.released) {
    station.doser_.released(*done.released);
    station.stirrer_.released(*done.released);
    station.water_.released(*done.released, effects);
  }
  // Last: with its row alone on the disk, a start would judge by what the others begin anew.
  effects.insert(effects.end(), latch.begin(), latch.end());
  return done.answer;
}

Answer Station::Obeys::operator()(const Relearn& /*relearn*/) const {
  if (const auto cannot = unwritable()) {
    return *cannot;
  }
  if (station.gate_.holds_beside_course()) {
    return refused(
        "Dosing is held because the pH climbed away from its usual course, or rose far above its "
        "reference; no command passes a hold. Again when it is over.");
  }
  station.water_.relearn(effects);
  return accepted("The usual course of the pH is forgotten. It is learned anew in " +
                  std::to_string(station.water_.course_days_to_go()) +
                  " days; until then the plain limit of a climb protects, which is coarser, and a "
                  "rise above the reference is not judged.");
}

/// Also while the ledger can't be written: then it stands in memory, and is written down later.
Answer Station::Obeys::operator()(const SwitchAllOff& /*off*/) const {
  station.doser_.switch_off(now.mono, effects);
  station.stirrer_.switch_off(now.mono, effects);
  station.gate_.switch_off(effects);
  return accepted("Everything goes off, and stays off until a person at the station releases it: " +
                  rules::code_of(rules::SwitchedOff{}) + ".");
}

Answer Station::Obeys::operator()(const ConfirmRate& rate) const {
  if (const auto cannot = unwritable()) {
    return *cannot;
  }
  constexpr Millilitres least{1.0};
  constexpr Millilitres most{10000.0};
  if (!(rate.collected >= least && rate.collected <= most)) {
    return refused("What was collected is a number of millilitres from 1 to 10000.");
  }
  const auto ran = station.doser_.attended().measurable(now.mono);
  if (!ran) {
    return refused("There is no attended run of the last " +
                   rules::for_people(AttendedRun::kMeasurableFor) + " that lasted " +
                   rules::for_people(AttendedRun::kMeasurableFrom) +
                   " or more. Collect one in a cylinder first: limegate run-attended.");
  }
  const MillilitresPerMinute measured{rate.collected.count() / in_minutes(*ran)};
  if (const std::string why = station.water_.confirm(measured, effects); !why.empty()) {
    return refused("The pump's rate is not confirmed. " + why + ".");
  }
  return accepted("The pump's rate is confirmed. What is planned is given.");
}

Answer Station::Obeys::operator()(const SetDayVolume& set) const {
  const std::string volume = rules::volume_for_people(set.volume);
  if (!(set.volume >= Millilitres{0.0}) || !std::isfinite(set.volume.count())) {
    return refused("The day's volume is a number of millilitres, zero or above.");
  }
  if (origin == Origin::afar && set.volume > station.wishes_.wished()) {
    return refused(volume + " is above " + rules::volume_for_people(station.wishes_.wished()) +
                   ", the day's volume set at the station" +
                   (station.wishes_.away() ? " while the keeper is away." : "."));
  }
  if (origin == Origin::station && station.wishes_.away()) {
    return refused("You are away, and the day's volume is that of the time. First: limegate back.");
  }
  if (set.volume > station.settings_.limits.day) {
    return refused(volume + " is above max_day_ml, " +
                   rules::volume_for_people(station.settings_.limits.day) +
                   ". The day's volume stays as it is.");
  }
  if (const std::string objection = station.schedule_.objection(set.volume); !objection.empty()) {
    return refused("The day's volume stays as it is: " + objection + ".");
  }
  const bool changed = set.volume != station.wishes_.day_volume();
  station.wishes_.set_day_volume({now.mono, station.stamp(now)}, set.volume, origin, effects);
  if (changed) {
    station.schedule_.change(station.clear_window(now.mono), station.present());
  }
  const std::string halved = sentence_of(station.water_.halved());
  return accepted("The day's volume is " + volume + " from the next clear window on." +
                  (halved.empty() ? "" : " " + halved));
}

Answer Station::Obeys::operator()(const WriteEntry& write) const {
  if (const auto cannot = unwritable()) {
    return refused(cannot->sentence + " Nothing was written down.");
  }
  const signal::Reading ph = station.reading(rules::Role::ph, now.mono);
  const auto& powder = station.upkeep_.powder();
  const KeepersBook::Beside beside{
      station.doser_.given_in_all(),
      ph.quality == signal::Quality::good ? std::optional{Ph{ph.value}} : std::nullopt,
      powder && is_of_today(write.at)
          ? care::charge_of(station.settings_.plan.reactor_bore).high - powder->refill_g.high
          : 0.0};
  Answer answer = station.book_.write({now, station.stamp(now)}, beside, write, effects);
  // A newer test below the limit is all that this hold waits for: this one, and none of before.
  const std::string high = rules::code_of(rules::AlkalinityTooHigh{});
  const std::vector<std::string> latches = station.latches();
  const auto& newest = station.book_.newest_alkalinity();
  if (answer.verdict == Answer::Verdict::accepted && newest &&
      newest->number == station.book_.entries().back().number &&
      std::find(latches.begin(), latches.end(), high) != latches.end()) {
    const Answer release = (*this)(Release{high});
    answer.sentence += release.verdict == Answer::Verdict::accepted ? " " + release.sentence : "";
  }
  if (answer.verdict == Answer::Verdict::accepted && is_of_today(write.at)) {
    answer.sentence += halved_by(write.row);
  }
  return answer;
}

/// A rate above the file's: more flows than counts. Empty: it is no such entry.
std::string Station::Obeys::halved_by(care::Written row) const {
  const auto entry = care::read_entry(row);
  const auto* measured = entry ? std::get_if<care::RateMeasured>(&entry->what) : nullptr;
  const std::string why =
      measured != nullptr ? station.water_.told(measured->rate, effects) : std::string{};
  return why.empty() ? "" : " " + why + ". " + sentence_of(station.water_.halved());
}

Answer Station::Obeys::operator()(const UndoEntry& undo) const {
  if (const auto cannot = unwritable()) {
    return refused(cannot->sentence + " Nothing was taken back.");
  }
  return station.book_.undo(now.wall, undo, effects);
}

Answer Station::Obeys::operator()(const StirNow& /*stir*/) const {
  if (station.settings_.stirrer == StirrerKind::observed) {
    return refused("The stirrer runs on a timer of its own; it is not switched from here.");
  }
  if (const auto cannot = unwritable()) {
    return *cannot;
  }
  if (station.stirrer_.busy() || !station.doser_.rests()) {
    return refused("Stirrer and pump must both rest before a stir begins. Try again in a minute.");
  }
  if (const auto& work = station.wishes_.service_until(); work && *work > now.mono) {
    return refused("A person works at the reactor: the stirrer rests for another " +
                   rules::for_people(*work - now.mono) + ". limegate resume ends that.");
  }
  if (station.stirrer_may(now.mono) == StirDuty::May::rest) {
    return refused(
        "Limewater may be flowing although nothing commands it; stirred, it would be milk. The "
        "stirrer rests until that is cleared up.");
  }
  const Duration since = now.mono - station.stirrer_.last_start();
  const Duration share = station.settings_.plan.stir.run * kStirShare;
  if (since < share) {
    return refused("Stirring takes at most a quarter of the time: again in " +
                   rules::for_people(share - since) + ".");
  }
  station.stirrer_.begin_soon(now.mono);
  return accepted("Stirs now, for " + rules::for_people(station.settings_.plan.stir.run) +
                  "; then the limewater settles for " +
                  rules::for_people(station.settings_.limits.settle) + ".");
}

Answer Station::Obeys::operator()(const RunAttended& run) const {
  const Millilitres most = attended_most(station.settings_);
  if (!(run.volume > Millilitres{0.0} && run.volume <= most)) {
    return refused("An attended run takes a volume above zero; at most " +
                   rules::volume_for_people(most) + " at once.");
  }
  const Millilitres step = dosing::least_pulse(station.settings_.plan);
  if (run.volume < step) {
    return refused("The board's timer ends a run in steps of " +
                   rules::for_people(station.settings_.plan.timer_step) + ": take " +
                   rules::volume_for_people(step) + " at least.");
  }
  const Millilitres volume = dosing::in_whole_steps(run.volume, station.settings_.plan);
  AttendedRun& attended = station.doser_.attended();
  if (attended.under_way() || !station.doser_.resting()) {
    return refused("The pump is busy. Try again when it rests.");
  }
  if (const std::string against =
          against_attended(station.gate_.holds_for(now.mono, station.snapshot(now, volume)));
      !against.empty()) {
    return refused("Held, and no command passes a hold:" + against);
  }
  attended.begin(now, volume, effects);
  return accepted("The pump runs for " +
                  rules::for_people(dosing::duration_of(volume, station.settings_.plan)) +
                  " in all, " + rules::volume_for_people(volume) + ", in pulses of at most " +
                  rules::volume_for_people(attended.next_pulse(
                      station.schedule_.largest_pulse(station.water_.tested_rise()))) +
                  " with a rest after each. Every hold applies, and all of it is counted.");
}

}  // namespace limegate::station
