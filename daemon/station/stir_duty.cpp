#include "station/stir_duty.h"

#include <algorithm>
#include <chrono>

#include "station/disk_pace.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

constexpr Duration kOverrunGrace = 2s;
/// An observed stirrer that has not been heard of for this long may be running.
constexpr Duration kObservationAgeMax = 10s;
/// A stir that did not begin is tried again after this.
constexpr Duration kTryAgain = 60s;

}  // namespace

StirDuty::StirDuty(StirrerKind kind, const dosing::StirCycle& cycle, const History& history,
                   Instant now)
    : kind_(kind),
      cycle_(cycle),
      newest_id_(history.newest_stir_id),
      // Unknown stir history = it ended just now.
      last_start_(now - cycle.run),
      found_at_(history.stirrer_found_on),
      expires_(now),
      ends_at_(now) {
  if (kind_ == StirrerKind::observed) {
    // While we were away the stirrer kept its own timer: the input must be seen first. What was
    // dosed without a stir counts on, so that no restart makes an overdue one young again.
    last_start_ = now - history.dosed_since_stir.value_or(cycle.run);
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

/// Nothing was sent, so the limewater is as clear as it was; only a start, which reads the row,
/// settles anew.
void StirDuty::not_begun(Instant now, dosing::Stamp stamp, Effects& effects) {
  phase_ = Phase::resting;
  last_start_ = now - cycle_.every + kTryAgain;
  effects.emplace_back(CloseStir{*open_row_, stamp});
  open_row_.reset();
}

void StirDuty::durable(Instant now, std::int64_t id) {
  if (phase_ == Phase::recording && open_row_ == id) {
    phase_ = Phase::recorded;
    expires_ = now + dosing::kPulseExpiry;
  }
}

void StirDuty::ledger_failed() {
  if (phase_ == Phase::recording) {
    phase_ = Phase::resting;
    last_start_ += kTryAgain - cycle_.every;  // nothing was sent
    open_row_.reset();
  }
}

void StirDuty::end(Instant now) {
  phase_ = Phase::ending;
  watch_.want_off(now);
}

void StirDuty::switch_off(Instant now, Effects& effects) {
  if (kind_ == StirrerKind::observed) {
    return;
  }
  if (phase_ == Phase::running) {
    phase_ = Phase::ending;
  }
  watch_.switch_off(now, effects);
}

std::optional<std::int64_t> StirDuty::disturbed(Instant now, dosing::Stamp stamp,
                                                Effects& effects) {
  if (phase_ != Phase::resting || !rested_since_) {
    return std::nullopt;  // it settles anew in any case
  }
  rested_since_ = now;
  effects.emplace_back(AppendStir{StirRecord{++newest_id_, cycle_.run, stamp}});
  effects.emplace_back(CloseStir{newest_id_, stamp});
  return newest_id_;
}

void StirDuty::look(Effects& effects) {
  if (kind_ == StirrerKind::switched && phase_ == Phase::resting) {
    watch_.look(effects);
  }
}

void StirDuty::step(Moment now, dosing::Stamp stamp, May may, Effects& effects) {
  if (kind_ == StirrerKind::observed) {
    return;
  }
  if (phase_ == Phase::recorded) {
    if (may == May::begin && now.mono < expires_ && watch_.confirmed_off()) {
      phase_ = Phase::sent;
      ends_at_ = now.mono + cycle_.run;
      watch_.expect_on();
      effects.emplace_back(Run{rules::OutletRole::stirrer, *open_row_, cycle_.run,
                               now.mono + kWrittenWithin + dosing::kPulseExpiry});
    } else {
      not_begun(now.mono, stamp, effects);
    }
  } else if (phase_ == Phase::running &&
             (may == May::rest || now.mono > ends_at_ + kOverrunGrace)) {
    end(now.mono);
  } else if (phase_ == Phase::running) {
    // Also long before its end: a board with a communication-loss timer must hear from us.
    watch_.look(effects);
  } else if (phase_ == Phase::resting && now.mono >= next_start() && may == May::begin &&
             watch_.confirmed_off()) {
    begin(now.mono, stamp, effects);
  }
  watch_.supervise(now.mono, effects);
  if (watch_.found_on()) {
    found_on(now, stamp, effects);
  }
}

void StirDuty::found_on(Moment now, dosing::Stamp stamp, Effects& effects) {
  if (open_row_ || !rested_since_) {
    return;  // a stir of ours, or none that was ever seen to end: its row says so already
  }
  phase_ = Phase::ending;
  last_start_ = now.mono;
  open_row_ = ++newest_id_;
  effects.emplace_back(AppendStir{StirRecord{newest_id_, Duration::zero(), stamp}});
  found_ =
      found_at_ && dosing::age(*found_at_, stamp) < 24h ? rules::Found::again : rules::Found::once;
  found_at_ = stamp;
  effects.emplace_back(
      Raise{{now.wall, Severity::alert, "stirrer-found-on",
             "The stirrer was found on although nothing had switched it on from here. It is "
             "switched off, and the limewater settles anew. Find out who or what switches it."}});
}

void StirDuty::take(Moment now, dosing::Stamp stamp, const OutletReport& report, Effects& effects) {
  using Result = OutletReport::Result;
  watch_.take(now.mono, report, effects);
  if (report.command == OutletReport::Command::run) {
    if (report.result == Result::on || report.result == Result::off) {
      phase_ = Phase::running;
      ends_at_ = now.mono + cycle_.run;
    } else if (report.disk_too_slow && open_row_) {
      watch_.want_off(now.mono);
      not_begun(now.mono, stamp, effects);
    } else {
      end(now.mono);
    }
    return;
  }
  if (watch_.found_on()) {
    found_on(now, stamp, effects);
  }
  if (report.result == Result::on && phase_ == Phase::resting) {
    // One look may be wrong; all the same the water counts as milky until it was seen off.
    phase_ = Phase::ending;
  } else if (report.result == Result::off && phase_ == Phase::ending && watch_.confirmed_off()) {
    rest(now.mono, stamp, effects);
  } else if (report.result == Result::off && phase_ == Phase::running && now.mono >= ends_at_) {
    watch_.seen_off(now.mono);
    rest(now.mono, stamp, effects);
  }
}

void StirDuty::take(Instant now, dosing::Stamp stamp, const StirrerSample& sample,
                    Effects& effects) {
  if (!sample.running) {
    return;
  }
  const bool known_resting = rested_since_ && observed_at_ &&
                             sample.at.value_or(now) - *observed_at_ <= kObservationAgeMax;
  observed_at_ = sample.at.value_or(now);
  if (*sample.running) {
    if (phase_ == Phase::resting) {
      phase_ = Phase::running;
      last_start_ = now;
      open_row_ = ++newest_id_;
      effects.emplace_back(AppendStir{StirRecord{newest_id_, cycle_.run, stamp}});
    }
    rested_since_.reset();
  } else if (phase_ == Phase::running || !known_resting) {
    if (phase_ == Phase::running) {
      // It may have run for longer than its timer is said to be set to.
      last_start_ = std::max(last_start_, now - cycle_.run);
    }
    // Seen off for the first time, or again after a gap in which it may have run.
    rest(now, stamp, effects);
  }
}

void StirDuty::released(const rules::Hold& hold) {
  if (const auto* found = std::get_if<rules::OutletFoundOn>(&hold);
      found != nullptr && found->role == rules::OutletRole::stirrer) {
    found_ = rules::Found::never;
  }
}

void StirDuty::know(Instant now, rules::Snapshot& known) const {
  known.stirrer = this->known(now);
  known.stirrer_outlet = outlet(now);
  known.stirrer_found = found_;
}

rules::StirrerKnown StirDuty::known(Instant now) const {
  using State = rules::StirrerKnown::State;
  using Rhythm = rules::StirrerKnown::Rhythm;
  if (kind_ == StirrerKind::observed) {
    const bool heard =
        observed_at_ && now >= *observed_at_ && now - *observed_at_ <= kObservationAgeMax;
    if (!heard) {
      return {State::unknown, now};
    }
    // An input that sticks shows the same for ever, either way.
    if (phase_ == Phase::running && now - last_start_ > cycle_.every) {
      return {State::running, now, Rhythm::endless};
    }
    if (phase_ != Phase::running && now - next_start() > cycle_.every) {
      return {State::unknown, now, Rhythm::overdue};
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
