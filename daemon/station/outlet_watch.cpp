#include "station/outlet_watch.h"

#include <chrono>
#include <utility>

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
  wanted_off_at_ = now;
  off_tries_ = 0;
  seen_on_after_off_ = 0;
  next_try_ = now;
}

void OutletWatch::expect_on() {
  state_ = State::on_expected;
  may_be_on_ = true;
  suspected_at_.reset();
}

void OutletWatch::supervise(Instant now, Effects& effects) {
  if (suspected_at_ && state_ != State::off_wanted && now > *suspected_at_) {
    want_off(now);  // the second look was not answered within a step
  }
  if (state_ == State::unseen && !look_outstanding_) {
    look(effects);
  } else if (state_ == State::unseen) {
    want_off(now);  // not answered within a step
  }
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

void OutletWatch::suspect(Instant now, Effects& effects) {
  may_be_on_ = true;
  if (!suspected_at_) {
    suspected_at_ = now;
    last_off_ = confirmed_at_;
    look(effects);
    return;
  }
  found_on_ = true;
  want_off(now);
}

void OutletWatch::take(Instant now, const OutletReport& report, Effects& effects) {
  using Result = OutletReport::Result;
  const bool of_off = report.command == OutletReport::Command::off;
  if (of_off) {
    off_outstanding_ = false;
  } else if (report.command == OutletReport::Command::read_back) {
    look_outstanding_ = false;
  }
  if (report.result == Result::on && (state_ == State::resting || state_ == State::unseen)) {
    suspect(now, effects);
  } else if (report.result == Result::on && state_ == State::off_wanted && of_off) {
    ++seen_on_after_off_;
    found_on_ = found_on_ || suspected_at_.has_value();
  } else if (report.result == Result::on && state_ == State::off_wanted && suspected_at_ &&
             report.command == OutletReport::Command::read_back) {
    found_on_ = true;  // the second look, whose answer came after the off had been sent
  } else if (report.result == Result::off && (state_ == State::resting || of_off) &&
             state_ != State::on_expected) {
    // A look may have been taken before the off was wanted: only the off's own read-back confirms.
    // What was seen on once and then not heard of for so long may have been on all the while.
    found_on_ = found_on_ || (suspected_at_ && now - *suspected_at_ > kLookEvery);
    seen_off(now);
  } else if (state_ == State::unseen) {
    want_off(now);
  }
  // What is to be off and was just decided goes out at once, not at the next step.
  if (state_ == State::off_wanted && off_tries_ == 0) {
    supervise(now, effects);
  }
}

void OutletWatch::seen_off(Instant now) {
  state_ = State::resting;
  may_be_on_ = false;
  confirmed_at_ = now;
  suspected_at_.reset();
  seen_on_after_off_ = 0;
  next_try_ = now + kLookEvery;
}

bool OutletWatch::found_on() { return std::exchange(found_on_, false); }

rules::OutletKnown OutletWatch::known(Instant now) const {
  if (seen_on_after_off_ >= kStuckAfter) {
    return rules::OutletKnown::stuck_on;
  }
  const bool sure = state_ == State::on_expected ||
                    (state_ == State::resting && now - *confirmed_at_ <= kConfirmedFor);
  return sure ? rules::OutletKnown::as_commanded : rules::OutletKnown::unconfirmed;
}

}  // namespace limegate::station
