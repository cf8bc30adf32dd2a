// What a station makes of a command: from afar only less, at the station within every limit.

#include <algorithm>
#include <chrono>
#include <cmath>
#include <utility>

#include "station/station.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

/// An attended run that has not come to its end by then is given up: nobody stands there any more.
constexpr Duration kAttendedFor = 30min;
/// And so long after its end a person may say what it gave; if the pump ran for long enough to
/// tell.
constexpr Duration kMeasurableFor = 2h;
constexpr Duration kMeasurableFrom = 20s;
/// Stirring takes at most this share of the time.
constexpr int kStirShare = 4;

Answer accepted(std::string sentence) { return {Answer::Verdict::accepted, std::move(sentence)}; }
Answer refused(std::string sentence) { return {Answer::Verdict::refused, std::move(sentence)}; }

/// A hold that comes with every pulse and goes by itself within a minute.
bool passing(const rules::Hold& hold) {
  return std::holds_alternative<rules::ProbeDisturbed>(hold);
}

std::string sentences_of(const rules::Holds& holds) {
  std::string text;
  for (const rules::Hold& hold : holds) {
    text += passing(hold) ? "" : " " + rules::sentence_of(hold);
  }
  return text;
}

}  // namespace

Station::Commanded Station::command(Moment now, const Command& command, Origin origin) {
  Commanded done{refused("This is done at the station only, not from afar."), {}};
  if (permits(origin, command)) {
    done.answer = std::visit(
        [&](const auto& what) { return obey(now, what, origin, done.effects); }, command);
  }
  take_note(now, done.effects);
  return done;
}

Answer Station::obey(Moment now, const Pause& pause, Origin origin, Effects& effects) {
  if (pause.lasting <= Duration::zero()) {
    return refused("A pause needs a time above zero; 24 h at most.");
  }
  wishes_.pause({now.mono, stamp(now)}, pause.lasting, origin, effects);
  pump_.stop(now.mono, effects);
  return accepted("Paused for " + rules::for_people(std::min(pause.lasting, kPauseMax)) +
                  "; dosing then goes on by itself.");
}

Answer Station::obey(Moment now, const Resume& /*resume*/, Origin origin, Effects& effects) {
  const auto lasts = [&](Origin from) {
    const auto until = wishes_.paused_until(from);
    return until && *until > now.mono;
  };
  const bool at_station = lasts(Origin::station);
  if (origin == Origin::afar && at_station && !lasts(Origin::afar)) {
    return refused("The pause was set at the station; it is ended only there, or by its time.");
  }
  if (!at_station && !lasts(Origin::afar)) {
    return refused("Dosing is not paused.");
  }
  wishes_.resume(origin, effects);
  if (origin == Origin::afar && at_station) {
    return accepted("The pause from afar is over; the one set at the station goes on.");
  }
  return accepted("No longer paused. Every other hold stays as it is.");
}

Answer Station::obey(Moment now, const Release& release, Origin /*origin*/, Effects& effects) {
  if (ledger_fault_) {
    // It could not be written down, and would be back at the next start.
    return refused(rules::sentence_of(rules::LedgerNotWritable{*ledger_fault_}));
  }
  if (auto answer = owner_.release(release.hold, effects)) {
    return *std::move(answer);
  }
  if (std::erase(memory_.unknown_latches, release.hold) > 0) {
    effects.emplace_back(StoreLatch{release.hold, StoreLatch::To::released});
    return accepted("Released: " + release.hold + ".");
  }
  const auto is = [&](const rules::Hold& hold) { return release.hold == rules::code_of(hold); };
  const auto latch = std::find_if(
      rules::remembered().begin(), rules::remembered().end(), [&](const rules::Remembered& one) {
        return one.clears == rules::Clears::by_person && one.code == release.hold;
      });
  if (latch == rules::remembered().end() || !(memory_.*latch->flag)) {
    return refused("There is no latched hold '" + release.hold +
                   "'. Other holds go by themselves when their cause is gone.");
  }
  if (const std::string still = rules::still_there(
          latch->hold, {snapshot(now, Millilitres{}), memory_, settings_.limits});
      !still.empty()) {
    return refused("Its cause is not gone: " + still + ".");
  }
  memory_.*latch->flag = false;
  if (is(rules::PumpTimerFailed{})) {
    pump_.trust_timer_again();
  } else if (is(rules::EffectTooLarge{})) {
    effect_.begin_anew(effects);
  } else if (is(rules::OutletFoundOn{rules::OutletRole::pump})) {
    pump_.forget_found();
  } else if (is(rules::OutletFoundOn{rules::OutletRole::stirrer})) {
    stir_.forget_found();
  }
  effects.emplace_back(StoreLatch{release.hold, StoreLatch::To::released});
  return accepted("Released: " + release.hold + ". If its cause comes again, so does the hold.");
}

Answer Station::obey(Moment /*now*/, const Relearn& /*relearn*/, Origin /*origin*/,
                     Effects& effects) {
  if (ledger_fault_) {
    return refused(rules::sentence_of(rules::LedgerNotWritable{*ledger_fault_}));
  }
  if (memory_.unusual_climb_tripped || memory_.climb_goes_on_latched || memory_.risen_tripped) {
    return refused(
        "Dosing is held because the pH climbed away from its usual course, or rose far above its "
        "reference; no command passes a hold. Again when it is over.");
  }
  course_.forget();
  anchor_.begin_anew(effects);
  effects.emplace_back(ForgetCourse{});
  return accepted("The usual course of the pH is forgotten. It is learned anew in " +
                  std::to_string(course_.days_to_go()) +
                  " days; until then the plain limit of a climb protects, which is coarser, and a "
                  "rise above the reference is not judged.");
}

/// Also while the ledger can't be written: then it stands in memory, and is written down later.
Answer Station::obey(Moment now, const SwitchAllOff& /*off*/, Origin /*origin*/, Effects& effects) {
  pump_.switch_off(now.mono, effects);
  stir_.switch_off(now.mono, effects);
  const std::string code = rules::code_of(rules::SwitchedOff{});
  if (!std::exchange(memory_.switched_off_latched, true)) {
    effects.emplace_back(StoreLatch{code, StoreLatch::To::latched});
  }
  return accepted("Everything goes off, and stays off until a person at the station releases it: " +
                  code + ".");
}

Answer Station::obey(Moment now, const ConfirmRate& rate, Origin /*origin*/, Effects& effects) {
  if (ledger_fault_) {
    return refused(rules::sentence_of(rules::LedgerNotWritable{*ledger_fault_}));
  }
  constexpr Millilitres least{1.0};
  constexpr Millilitres most{10000.0};
  if (!(rate.collected >= least && rate.collected <= most)) {
    return refused("What was collected is a number of millilitres from 1 to 10000.");
  }
  if (attended_ || !measurable_ || now.mono > measurable_->until ||
      measurable_->ran < kMeasurableFrom) {
    return refused("There is no attended run of the last " + rules::for_people(kMeasurableFor) +
                   " that lasted " + rules::for_people(kMeasurableFrom) +
                   " or more. Collect one in a cylinder first: limegate run-attended.");
  }
  const MillilitresPerMinute measured{rate.collected.count() / in_minutes(measurable_->ran)};
  if (const std::string why = anchor_.confirm(measured, effects); !why.empty()) {
    return refused("The pump's rate is not confirmed. " + why + ".");
  }
  return accepted("The pump's rate is confirmed. What is planned is given.");
}

Answer Station::obey(Moment now, const SetDayVolume& set, Origin origin, Effects& effects) {
  const std::string volume = rules::volume_for_people(set.volume);
  if (!(set.volume >= Millilitres{0.0}) || !std::isfinite(set.volume.count())) {
    return refused("The day's volume is a number of millilitres, zero or above.");
  }
  if (origin == Origin::afar && set.volume > wishes_.day_volume_at_station()) {
    return refused(volume + " is above " +
                   rules::volume_for_people(wishes_.day_volume_at_station()) +
                   ", the day's volume set at the station.");
  }
  if (set.volume > settings_.limits.day) {
    return refused(volume + " is above max_day_ml, " +
                   rules::volume_for_people(settings_.limits.day) +
                   ". The day's volume stays as it is.");
  }
  dosing::PlanSettings plan = settings_.plan;
  plan.day_volume = set.volume;
  const auto objections = dosing::objections_to(plan, plan_bounds(settings_.limits));
  if (!objections.empty()) {
    return refused("The day's volume stays as it is: " + objections.front() + ".");
  }
  const bool changed = set.volume != wishes_.day_volume();
  wishes_.set_day_volume({now.mono, stamp(now)}, set.volume, origin, effects);
  if (changed) {
    // A new shape has new slots; what this window still had to give is dropped, so that no sequence
    // of changes gives more than the volumes that were set.
    if (const auto window = stir_.clear_window(now.mono, settings_.limits.settle)) {
      dropped_window_ = window->open;
    }
    settings_.plan = plan;
    shape_ = dosing::shape_of(present_plan());
    window_plan_.drop_missed();
  }
  const std::string halved = sentence_of(anchor_.halved(effect_.if_learned()));
  return accepted("The day's volume is " + volume + " from the next clear window on." +
                  (halved.empty() ? "" : " " + halved));
}

Answer Station::obey(Moment now, const StirNow& /*stir*/, Origin /*origin*/, Effects& /*effects*/) {
  if (settings_.stirrer == StirrerKind::observed) {
    return refused("The stirrer runs on a timer of its own; it is not switched from here.");
  }
  if (ledger_fault_) {
    return refused(rules::sentence_of(rules::LedgerNotWritable{*ledger_fault_}));
  }
  if (stir_.busy() || !pump_.watch().confirmed_off() || pump_.phase() != PumpDuty::Phase::resting) {
    return refused("Stirrer and pump must both rest before a stir begins. Try again in a minute.");
  }
  if (stirrer_may(now.mono) == StirDuty::May::rest) {
    return refused(
        "Limewater may be flowing although nothing commands it; stirred, it would be milk. The "
        "stirrer rests until that is cleared up.");
  }
  const Duration since = now.mono - stir_.last_start();
  const Duration share = settings_.plan.stir.run * kStirShare;
  if (since < share) {
    return refused("Stirring takes at most a quarter of the time: again in " +
                   rules::for_people(share - since) + ".");
  }
  stir_.begin_soon(now.mono);
  return accepted("Stirs now, for " + rules::for_people(settings_.plan.stir.run) +
                  "; then the limewater settles for " + rules::for_people(settings_.limits.settle) +
                  ".");
}

Millilitres Station::attended_pulse() const {
  const dosing::PlanSettings& plan = settings_.plan;
  const Millilitres most = std::min(largest_pulse(), dosing::longest_pulse(plan));
  return dosing::in_whole_steps(std::min(most, attended_->remaining), plan);
}

Answer Station::obey(Moment now, const RunAttended& run, Origin /*origin*/, Effects& effects) {
  const rules::Limits& limits = settings_.limits;
  const Millilitres most = attended_most(settings_);
  if (!(run.volume > Millilitres{0.0} && run.volume <= most)) {
    return refused("An attended run takes a volume above zero; at most " +
                   rules::volume_for_people(most) + " at once.");
  }
  const Millilitres step = dosing::least_pulse(settings_.plan);
  if (run.volume < step) {
    return refused("The board's timer ends a run in steps of " +
                   rules::for_people(settings_.plan.timer_step) + ": take " +
                   rules::volume_for_people(step) + " at least.");
  }
  const Millilitres volume = dosing::in_whole_steps(run.volume, settings_.plan);
  if (attended_ || pump_.phase() != PumpDuty::Phase::resting) {
    return refused("The pump is busy. Try again when it rests.");
  }
  rules::Holds holds = rules::judge(now.mono, snapshot(now, volume), limits, memory_).holds;
  holds.insert(holds.end(), owner_.holds().begin(), owner_.holds().end());
  if (!std::all_of(holds.begin(), holds.end(), passing)) {
    return refused("Held, and no command passes a hold:" + sentences_of(holds));
  }
  attended_ = Attended{volume, Millilitres{0.0}, Duration::zero(), now.mono + kAttendedFor};
  effects.emplace_back(
      Raise{{now.wall, Severity::info, "attended-run",
             "An attended run of " + rules::volume_for_people(volume) + " begins."}});
  return accepted("The pump runs for " +
                  rules::for_people(dosing::duration_of(volume, settings_.plan)) + " in all, " +
                  rules::volume_for_people(volume) + ", in pulses of at most " +
                  rules::volume_for_people(attended_pulse()) +
                  " with a rest after each. Every hold applies, and all of it is counted.");
}

void Station::go_on_attended(Moment now, Effects& effects) {
  const auto end = [&](const std::string& why) {
    effects.emplace_back(Raise{{now.wall, Severity::info, "attended-run-over",
                                "The attended run is over" + why + ": the pump ran for " +
                                    rules::for_people(attended_->ran) + ", " +
                                    rules::volume_for_people(attended_->counted) +
                                    " are counted at the highest rate."}});
    measurable_ = Measurable{attended_->ran, now.mono + kMeasurableFor};
    attended_.reset();
  };
  // What is left of whole steps may be a rounding.
  if (!(attended_->remaining > dosing::least_pulse(settings_.plan) / 2.0)) {
    end("");
  } else if (!std::all_of(holds_.begin(), holds_.end(), passing)) {
    end(", held back." + sentences_of(holds_) + " So far");
  } else if (now.mono >= attended_->give_up) {
    end(", given up after " + rules::for_people(kAttendedFor));
  } else if (holds_.empty()) {
    const Millilitres volume = attended_pulse();
    attended_->remaining -= volume;
    pump_.reserve(now.mono, stamp(now), volume, dosing::duration_of(volume, settings_.plan),
                  effects);
  }
}

}  // namespace limegate::station
