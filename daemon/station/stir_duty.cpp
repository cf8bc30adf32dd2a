#include "station/stir_duty.h"

#include <chrono>

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

constexpr Duration kOverrunGrace = 2s;
/// An observed stirrer that has not been heard of for this long may be running.
constexpr Duration kObservationAgeMax = 10s;

}  // namespace

StirDuty::StirDuty(StirrerKind kind, const dosing::StirCycle& cycle, const History& history,
                   Instant now)
    : kind_(kind),
      cycle_(cycle),
      newest_id_(history.newest_stir_id),
      // Unknown stir history = it ended just now.
      last_start_(now - cycle.run),
      expires_(now),
      ends_at_(now) {
  if (kind_ == StirrerKind::observed) {
    // While we were away the stirrer kept its own timer: the input must be seen first.
    return;
  }
  if (history.last_stir) {
    last_start_ = history.last_stir->start;
    rested_since_ = history.last_stir->end;
  } else {
    // It may be running still: the settling begins when it is confirmed to be off.
    phase_ = Phase::ending;
  }
}

void StirDuty::begin(Instant now, dosing::Stamp stamp, Effects& effects) {
  phase_ = Phase::recording;
  last_start_ = now;
  expires_ = now + dosing::kPulseExpiry;
  open_row_ = ++newest_id_;
  effects.emplace_back(AppendStir{StirRecord{newest_id_, cycle_.run, stamp}});
}

void StirDuty::rest(Instant now, dosing::Stamp stamp, Effects& effects) {
  phase_ = Phase::resting;
  rested_since_ = now;
  if (open_row_) {
    effects.emplace_back(CloseStir{*open_row_, stamp});
    open_row_.reset();
  }
}

void StirDuty::durable(std::int64_t id) {
  if (phase_ == Phase::recording && open_row_ == id) {
    phase_ = Phase::recorded;
  }
}

void StirDuty::ledger_failed() {
  if (phase_ == Phase::recording) {
    phase_ = Phase::resting;
    open_row_.reset();
  }
}

void StirDuty::step(Instant now, dosing::Stamp stamp, bool may_begin, Effects& effects) {
  if (kind_ == StirrerKind::observed) {
    return;
  }
  if (phase_ == Phase::recorded) {
    if (may_begin && now < expires_ && watch_.confirmed_off()) {
      phase_ = Phase::sent;
      ends_at_ = now + cycle_.run;
      watch_.expect_on();
      effects.emplace_back(Run{rules::OutletRole::stirrer, *open_row_, cycle_.run, expires_});
    } else {
      rest(now, stamp, effects);
    }
  } else if (phase_ == Phase::running && now > ends_at_ + kOverrunGrace) {
    phase_ = Phase::ending;
    watch_.want_off(now);
  } else if (phase_ == Phase::running) {
    // Also long before its end: a board with a communication-loss timer must hear from us.
    watch_.look(effects);
  } else if (phase_ == Phase::resting && now >= next_start() && may_begin &&
             watch_.confirmed_off()) {
    begin(now, stamp, effects);
  }
  watch_.supervise(now, effects);
}

void StirDuty::take(Instant now, dosing::Stamp stamp, const OutletReport& report,
                    Effects& effects) {
  using Result = OutletReport::Result;
  watch_.take(now, report);
  if (report.command == OutletReport::Command::run) {
    if (report.result == Result::on || report.result == Result::off) {
      phase_ = Phase::running;
      ends_at_ = now + cycle_.run;
    } else {
      phase_ = Phase::ending;
      watch_.want_off(now);
    }
    return;
  }
  if (report.result == Result::on && phase_ == Phase::resting) {
    // Switched by hand, or welded: the water is milky until it was seen off and settled again.
    phase_ = Phase::ending;
  } else if (report.result == Result::off && phase_ == Phase::ending && watch_.confirmed_off()) {
    rest(now, stamp, effects);
  } else if (report.result == Result::off && phase_ == Phase::running && now >= ends_at_) {
    watch_.seen_off(now);
    rest(now, stamp, effects);
  }
}

void StirDuty::take(Instant now, dosing::Stamp stamp, const StirrerSample& sample,
                    Effects& effects) {
  if (!sample.running) {
    return;
  }
  const bool known_resting =
      rested_since_ && observed_at_ && now - *observed_at_ <= kObservationAgeMax;
  observed_at_ = now;
  if (*sample.running) {
    if (phase_ == Phase::resting) {
      phase_ = Phase::running;
      last_start_ = now;
      open_row_ = ++newest_id_;
      effects.emplace_back(AppendStir{StirRecord{newest_id_, cycle_.run, stamp}});
    }
    rested_since_.reset();
  } else if (phase_ == Phase::running || !known_resting) {
    // Seen off for the first time, or again after a gap in which it may have run.
    rest(now, stamp, effects);
  }
}

rules::StirrerKnown StirDuty::known(Instant now) const {
  using State = rules::StirrerKnown::State;
  if (kind_ == StirrerKind::observed) {
    const bool heard =
        observed_at_ && now >= *observed_at_ && now - *observed_at_ <= kObservationAgeMax;
    if (!heard) {
      return {State::unknown, now};
    }
  }
  if (phase_ == Phase::ending && !open_row_) {
    return {State::unknown, now};  // after the start, or switched by hand: not seen off yet
  }
  if (phase_ != Phase::resting) {
    return {State::running, now};
  }
  return rested_since_ ? rules::StirrerKnown{State::resting, *rested_since_}
                       : rules::StirrerKnown{State::unknown, now};
}

std::optional<StirDuty::Window> StirDuty::clear_window(Instant now, Duration settle) const {
  const rules::StirrerKnown stirrer = known(now);
  if (stirrer.state != rules::StirrerKnown::State::resting || busy()) {
    return std::nullopt;
  }
  Window window{stirrer.rested_since + settle, next_start()};
  if (kind_ == StirrerKind::observed) {
    // Counted from its rest: it may have run for longer than its timer is said to be set to.
    window.close = stirrer.rested_since + cycle_.every - cycle_.run;
    if (now >= window.close) {
      const auto missed = (now - window.close) / cycle_.every + 1;
      window.open += missed * cycle_.every;
      window.close += missed * cycle_.every;
    }
  }
  return window;
}

rules::OutletKnown StirDuty::outlet(Instant now) const {
  return kind_ == StirrerKind::observed ? rules::OutletKnown::as_commanded : watch_.known(now);
}

}  // namespace limegate::station
