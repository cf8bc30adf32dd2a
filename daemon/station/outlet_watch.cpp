#include "station/outlet_watch.h"

#include <chrono>

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

constexpr Duration kLookEvery = 10s;
/// Three looks may fail before the outlet counts as unconfirmed.
constexpr Duration kConfirmedFor = 35s;
constexpr int kQuickTries = 10;
constexpr Duration kQuickRetry = 1s;
constexpr Duration kSlowRetry = 10s;
/// An outlet that reads on after this many off commands is stuck.
constexpr int kStuckAfter = 3;

}  // namespace

void OutletWatch::want_off(Instant now) {
  if (state_ == State::off_wanted) {
    return;
  }
  state_ = State::off_wanted;
  off_tries_ = 0;
  seen_on_after_off_ = 0;
  next_try_ = now;
}

void OutletWatch::expect_on() { state_ = State::on_expected; }

void OutletWatch::supervise(Instant now, Effects& effects) {
  if (state_ == State::off_wanted && !off_outstanding_ && now >= next_try_) {
    ++off_tries_;
    next_try_ = now + (off_tries_ < kQuickTries ? kQuickRetry : kSlowRetry);
    off_outstanding_ = true;
    effects.emplace_back(SwitchOff{role_});
  } else if (state_ == State::resting && now >= next_try_) {
    next_try_ = now + kLookEvery;
    look(effects);
  }
}

void OutletWatch::look(Effects& effects) {
  if (!look_outstanding_) {
    look_outstanding_ = true;
    effects.emplace_back(ReadBack{role_});
  }
}

void OutletWatch::take(Instant now, const OutletReport& report) {
  if (report.command == OutletReport::Command::off) {
    off_outstanding_ = false;
  } else if (report.command == OutletReport::Command::read_back) {
    look_outstanding_ = false;
  }
  // A look may have been taken before the off was wanted: only the off's own read-back confirms it.
  const bool fresh = state_ == State::resting ||
                     (state_ == State::off_wanted && report.command == OutletReport::Command::off);
  if (report.result == OutletReport::Result::off && fresh) {
    seen_off(now);
  } else if (report.result == OutletReport::Result::on && state_ == State::resting) {
    want_off(now);
  } else if (report.result == OutletReport::Result::on && state_ == State::off_wanted &&
             report.command == OutletReport::Command::off) {
    ++seen_on_after_off_;
  }
}

void OutletWatch::seen_off(Instant now) {
  state_ = State::resting;
  confirmed_at_ = now;
  seen_on_after_off_ = 0;
  next_try_ = now + kLookEvery;
}

rules::OutletKnown OutletWatch::known(Instant now) const {
  if (seen_on_after_off_ >= kStuckAfter) {
    return rules::OutletKnown::stuck_on;
  }
  const bool sure = state_ == State::on_expected ||
                    (state_ == State::resting && now - confirmed_at_ <= kConfirmedFor);
  return sure ? rules::OutletKnown::as_commanded : rules::OutletKnown::unconfirmed;
}

}  // namespace limegate::station
