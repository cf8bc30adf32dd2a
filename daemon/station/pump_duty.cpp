#include "station/pump_duty.h"

#include <algorithm>
#include <chrono>

#include "dosing/plan.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

/// The board's timer and ours may differ by this much before we step in.
constexpr Duration kOverrunGrace = 2s;
/// A driver's own deadline (boards without a timer) may be this late on a busy bus.
constexpr Duration kTimerTolerance = 1s;
/// From the commit of the row to the first drop: expiry, wire and the board's own delay.
constexpr Duration kHandling = dosing::kPulseExpiry + 1s;

}  // namespace

PumpDuty::PumpDuty(MillilitresPerMinute highest_rate, std::int64_t newest_id, Instant now)
    : highest_rate_(highest_rate),
      newest_id_(newest_id),
      expires_(now),
      sent_at_(now),
      ends_at_(now) {}

void PumpDuty::reserve(Instant now, dosing::Stamp stamp, Millilitres volume, Duration duration,
                       Effects& effects) {
  phase_ = Phase::reserving;
  cancelled_ = false;
  nothing_was_sent_ = false;
  outcome_unknown_ = false;
  overran_ = false;
  timer_failed_ = false;
  expires_ = now + dosing::kPulseExpiry;
  const Duration until_end = kHandling + duration;
  pulse_ = PulseRecord{
      ++newest_id_, volume, duration, stamp, {stamp.lifetime + until_end, stamp.wall + until_end}};
  effects.emplace_back(AppendPulse{pulse_});
}

void PumpDuty::durable(std::int64_t id) {
  if (phase_ == Phase::reserving && id == pulse_.id) {
    phase_ = Phase::reserved;
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

void PumpDuty::close_ended(Instant now, Effects& effects) {
  if (nothing_was_sent_) {
    close(Fate::not_given, Millilitres{0.0}, effects);
    return;
  }
  // From before the command went out to after the pump was seen off: never less than what flowed.
  const double minutes = std::chrono::duration<double, std::ratio<60>>(now - sent_at_ + 1s).count();
  const Millilitres could_flow{minutes * highest_rate_.count()};
  // After an unknown outcome a late frame may yet be carried out: an early off proves nothing.
  if (now < ends_at_ && !overran_ && !outcome_unknown_) {
    close(Fate::cut_short, std::min(could_flow, pulse_.volume), effects);
  } else {
    // Ended later than the board should have ended it: what could flow beyond the pulse counts too.
    close(Fate::given, overran_ ? std::max(could_flow, pulse_.volume) : pulse_.volume, effects);
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

void PumpDuty::step(Instant now, bool keep, Effects& effects) {
  if (phase_ == Phase::reserved) {
    if (!keep || cancelled_ || now >= expires_ || !watch_.confirmed_off()) {
      close(Fate::not_given, Millilitres{0.0}, effects);
    } else {
      phase_ = Phase::sent;
      sent_at_ = now;
      ends_at_ = now + pulse_.duration;
      watch_.expect_on();
      run_outstanding_ = true;
      effects.emplace_back(Run{rules::OutletRole::pump, pulse_.id, pulse_.duration, expires_});
    }
  } else if (phase_ == Phase::reserving && !keep) {
    cancelled_ = true;
  } else if (phase_ == Phase::sent && !keep) {
    stop(now, effects);
  } else if (phase_ == Phase::running) {
    if (!keep || now > ends_at_ + kOverrunGrace) {
      stop(now, effects);
    } else {
      watch_.look(effects);
    }
  }
  watch_.supervise(now, effects);
}

void PumpDuty::take_run(Instant now, const OutletReport& report, Effects& effects) {
  run_outstanding_ = false;
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
    ends_at_ = now + pulse_.duration;
  }
}

void PumpDuty::take(Instant now, const OutletReport& report, Effects& effects) {
  watch_.take(now, report);
  if (report.command == OutletReport::Command::run) {
    take_run(now, report, effects);
    return;
  }
  if (report.result == OutletReport::Result::on && may_flow()) {
    overran_ = overran_ || now > ends_at_;
    timer_failed_ = timer_failed_ || now > ends_at_ + kTimerTolerance;
  }
  if (report.result != OutletReport::Result::off) {
    return;
  }
  if (phase_ == Phase::ending && !run_outstanding_ && watch_.confirmed_off()) {
    close_ended(now, effects);
  } else if (phase_ == Phase::running && now >= ends_at_) {
    watch_.seen_off(now);
    close_ended(now, effects);
  }
}

}  // namespace limegate::station
