#include "station/pump_duty.h"

#include <algorithm>
#include <chrono>
#include <utility>

#include "dosing/plan.h"
#include "station/disk_pace.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

/// A board's answer may be this late on a busy bus.
constexpr Duration kTimerTolerance = 1s;
/// From the decision to the last moment at which the command goes out: the row, the step behind
/// it, the guard's record, the wire.
constexpr Duration kSentWithin =
    kWrittenWithin + dosing::kPulseExpiry + kWrittenWithin + dosing::kPulseExpiry;
/// A command is not sent later than this: then it is taken back.
constexpr Duration kAnsweredWithin = kWrittenWithin + dosing::kPulseExpiry + 1s;
/// And to the first drop: the board's own delay.
constexpr Duration kHandling = kSentWithin + 1s;
/// Where we end a run, on and off travel by the wire: so much of the pulse's time is left for it.
/// Source: on a healthy serial line a run of 12 s took 12.02 to 12.16 s until its off was read
/// back.
constexpr Duration kOnTheWire = 300ms;
/// A board that must be switched off by us and is not heard for so long may be out of reach.
constexpr Duration kDeaf = 3s;

/// So many looks in a row must say off before a pump that was to run is told to be dead.
constexpr int kLooksOff = 2;

constexpr const char* kNotOn = "pump-not-on";

}  // namespace

PumpDuty::PumpDuty(const Pump& pump, const History& history, Moment now)
    : pump_(pump),
      lifetime_before_boot_(history.lifetime_before_boot),
      newest_id_(history.newest_pulse_id),
      expires_(now.mono),
      sent_at_(now.mono),
      ends_at_(now.mono),
      heard_at_(now.mono),
      excused_until_(now.mono),
      known_off_at_(std::min(now.mono, Instant{history.newest_end - lifetime_before_boot_})),
      found_at_(history.pump_found_on) {
  if (!history.open_pulse) {
    return;
  }
  const PulseRecord& open = *history.open_pulse;
  nobody_commanded_ = open.duration == Duration::zero();
  if (!grows()) {
    excused_until_ = std::clamp(Instant{open.end.lifetime - lifetime_before_boot_}, now.mono,
                                now.mono + kHandling + open.duration);
    return;
  }
  // Nothing ended it while we were away. The later clock tells how long that was: what flowed is
  // never less than what counts.
  pulse_ = open;
  taken_up_ = true;
  sent_at_ = now.mono - std::max({stamp(now).lifetime - open.reserved.lifetime,
                                  now.wall - open.reserved.wall, Duration::zero()});
  ends_at_ = sent_at_ + (nobody_commanded_ ? Duration::zero() : kHandling + open.duration);
  if (history.pump_switched_off && *history.pump_switched_off >= sent_at_) {
    switched_off_at_ = history.pump_switched_off;
  }
  phase_ = Phase::ending;
}

dosing::Stamp PumpDuty::stamp(Moment now) const {
  return {now.mono.time_since_epoch() + lifetime_before_boot_, now.wall};
}

Millilitres PumpDuty::could_flow(Duration lasting) const {
  return std::min(kCountsAsFull, Millilitres{in_minutes(lasting) * pump_.highest_rate.count()});
}

void PumpDuty::released(const rules::Hold& hold) {
  if (std::holds_alternative<rules::PumpTimerFailed>(hold)) {
    timer_failed_ = false;
  } else if (const auto* found = std::get_if<rules::OutletFoundOn>(&hold);
             found != nullptr && found->role == rules::OutletRole::pump) {
    found_ = rules::Found::never;
  }
}

void PumpDuty::reserve(Instant now, dosing::Stamp stamp, Millilitres volume, Duration duration,
                       Effects& effects) {
  phase_ = Phase::reserving;
  cancelled_ = false;
  nothing_was_sent_ = false;
  outcome_unknown_ = taken_up_ = false;
  nobody_commanded_ = false;
  told_late_ = false;
  looks_off_ = 0;
  overran_ = false;
  timer_failed_ = false;
  switched_off_at_.reset();
  expires_ = now + kSentWithin;
  const Duration until_end = kHandling + duration;
  pulse_ = PulseRecord{
      ++newest_id_, volume, duration, stamp, {stamp.lifetime + until_end, stamp.wall + until_end}};
  effects.emplace_back(AppendPulse{pulse_});
}

void PumpDuty::durable(Instant now, std::int64_t id) {
  if (phase_ == Phase::reserving && id == pulse_.id) {
    phase_ = Phase::reserved;
    // What was due when it was written is stale soon; a row that came too late has a hold.
    expires_ = std::min(expires_, now + dosing::kPulseExpiry);
  }
}

void PumpDuty::ledger_failed() {
  // The row may or may not be on the disk. Nothing was sent, so the pump stays off either way; the
  // volume stays counted until the ledger has been read again.
  if (phase_ == Phase::reserving) {
    phase_ = Phase::resting;
  }
}

void PumpDuty::close(Fate fate, Millilitres counted, Effects& effects) {
  effects.emplace_back(ClosePulse{pulse_.id, fate, counted});
  phase_ = Phase::resting;
}

void PumpDuty::close_ended(Moment now, std::optional<Instant> off_since, Effects& effects) {
  if (nothing_was_sent_) {
    close(Fate::not_given, Millilitres{0.0}, effects);
    return;
  }
  if (grows()) {
    close_grown(now, off_since, effects);
    return;
  }
  // From before the command went out to after the pump was seen off: never less than what flowed.
  const Millilitres flowed = could_flow(now.mono - sent_at_ + 1s);
  // After an unknown outcome a late frame may yet be carried out: an early off proves nothing.
  if (now.mono < ends_at_ && !overran_ && !outcome_unknown_) {
    close(Fate::cut_short, std::min(flowed, pulse_.volume), effects);
  } else {
    // Ended later than the board should have ended it: what could flow beyond the pulse counts too.
    close(Fate::given, overran_ ? std::max(flowed, pulse_.volume) : pulse_.volume, effects);
  }
}

void PumpDuty::stop(Instant now, Effects& effects) {
  switch (phase_) {
    case Phase::resting:
    case Phase::ending:
      return;
    case Phase::reserving:
    case Phase::reserved:
      cancelled_ = true;
      return;
    case Phase::sent:
    case Phase::running:
      phase_ = Phase::ending;
      watch_.want_off(now);
      watch_.supervise(now, effects);
      return;
  }
}

void PumpDuty::send(Instant now, Effects& effects) {
  const bool by_us = pump_.ends == RunEnds::by_us;
  const Duration run =
      by_us && pulse_.duration > 2 * kOnTheWire ? pulse_.duration - kOnTheWire : pulse_.duration;
  phase_ = Phase::sent;
  sent_at_ = heard_at_ = now;
  ends_at_ = now + pulse_.duration;
  watch_.expect_on();
  run_outstanding_ = true;
  effects.emplace_back(
      Run{rules::OutletRole::pump, pulse_.id, run, now + kWrittenWithin + dosing::kPulseExpiry});
}

void PumpDuty::step(Moment now, bool keep, Effects& effects) {
  if (phase_ == Phase::reserved) {
    if (!keep || cancelled_ || now.mono >= expires_ || !watch_.confirmed_off()) {
      close(Fate::not_given, Millilitres{0.0}, effects);
    } else {
      send(now.mono, effects);
    }
  } else if (phase_ == Phase::reserving && !keep) {
    cancelled_ = true;
  } else if (phase_ == Phase::sent && (!keep || now.mono > sent_at_ + kAnsweredWithin)) {
    stop(now.mono, effects);
  } else if (phase_ == Phase::running) {
    const bool deaf = pump_.ends == RunEnds::by_us && now.mono - heard_at_ > kDeaf;
    if (!keep || deaf || now.mono > ends_at_ + kOverrunGrace) {
      stop(now.mono, effects);
    } else {
      watch_.look(effects);
    }
  }
  if (may_flow()) {
    grow(now, effects);
  }
  watch_.supervise(now.mono, effects);
  if (watch_.found_on()) {
    found_on(now, effects);
  }
}

void PumpDuty::take_run(Instant now, const OutletReport& report, Effects& effects) {
  run_outstanding_ = false;
  sent_at_ = std::clamp(report.handed_over.value_or(sent_at_), sent_at_, now);
  const bool refused = report.result == OutletReport::Result::refused;
  outcome_unknown_ = report.result == OutletReport::Result::unknown;
  if (phase_ == Phase::ending) {
    nothing_was_sent_ = refused;
    // An off that was confirmed before the run was over with proves nothing: confirm it again.
    watch_.want_off(now);
    return;
  }
  if (phase_ != Phase::sent) {
    return;
  }
  if (refused) {
    // Refused without a byte on the wire; still, only a look confirms that the outlet rests.
    watch_.want_off(now);
    close(Fate::not_given, Millilitres{0.0}, effects);
  } else if (outcome_unknown_) {
    stop(now, effects);
  } else {
    phase_ = Phase::running;
    // Where the board ends it, from now on; where we do, from before the command went out.
    ends_at_ = (pump_.ends == RunEnds::by_board ? now : sent_at_) + pulse_.duration;
  }
}

/// A relay or contactor that does not pick up, a fuse that is gone: the board says on, the contact
/// says off. It counts as given all the same: the contact may be what is wrong.
void PumpDuty::note_look(Moment now, OutletReport::Result result, Effects& effects) {
  if (result == OutletReport::Result::on) {
    looks_off_ = 0;
    if (std::exchange(told_not_on_, false)) {
      effects.emplace_back(Raise{{now.wall,
                                  Severity::info,
                                  "pump-on-again",
                                  "The pump reads on when it is to run, as it should.",
                                  {},
                                  kNotOn}});
    }
  } else if (result == OutletReport::Result::off && now.mono < ends_at_ - kOverrunGrace &&
             ++looks_off_ >= kLooksOff && !told_not_on_) {
    told_not_on_ = true;
    effects.emplace_back(
        Raise{{now.wall, Severity::alert, kNotOn,
               "The pump was switched on for a pulse and reads off before its end: its relay does "
               "not pick up, somebody else switched it off, or its contact is read wrongly. What "
               "was to be given counts as given; the animals may get none. Look at the relay, its "
               "fuse and its wiring.",
               kNotOn}});
  }
}

void PumpDuty::take(Moment now, const OutletReport& report, Effects& effects) {
  using Result = OutletReport::Result;
  watch_.take(now.mono, report, effects);
  if (report.result == Result::on || report.result == Result::off) {
    heard_at_ = now.mono;
  }
  if (report.command == OutletReport::Command::run) {
    take_run(now.mono, report, effects);
    return;
  }
  if (phase_ == Phase::running && report.command == OutletReport::Command::read_back &&
      !report.off_since) {
    note_look(now, report.result, effects);
  }
  if (report.result == Result::on && may_flow()) {
    overran_ = overran_ || now.mono > ends_at_;
    timer_failed_ = timer_failed_ || (!grows() && now.mono > ends_at_ + kTimerTolerance);
    switched_off_at_.reset();
  }
  if (watch_.found_on()) {
    found_on(now, effects);
  }
  if (report.result != Result::off) {
    return;
  }
  if (phase_ == Phase::ending && !run_outstanding_ && watch_.confirmed_off()) {
    close_ended(now, report.off_since, effects);
  } else if (phase_ == Phase::running && (now.mono >= ends_at_ || report.off_since)) {
    watch_.seen_off(now.mono);
    close_ended(now, report.off_since, effects);
  }
}

}  // namespace limegate::station
