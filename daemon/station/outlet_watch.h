#pragma once

#include <optional>

#include "rules/snapshot.h"
#include "station/effects.h"
#include "station/observation.h"
#include "units/time.h"

namespace limegate::station {

/// Keeps one outlet honest: switches it off until a read-back confirms it, and looks at it now and
/// then while it rests, so that a welded or hand-switched relay is noticed.
class OutletWatch {
 public:
  explicit OutletWatch(rules::OutletRole role) : role_(role) {}

  /// From now on the outlet shall be off. Asking again changes nothing.
  void want_off(Instant now);

  /// Nothing is looked at while a run has been commanded and its end has not come.
  void expect_on();

  /// Emits what is due: the off command (again, until confirmed) or a routine look.
  void supervise(Instant now, Effects& effects);

  /// Asks for one look as soon as none is outstanding.
  void look(Effects& effects);

  void take(Instant now, const OutletReport& report);

  /// A commanded run is over: the outlet was seen off after its end.
  void seen_off(Instant now);

  [[nodiscard]] bool confirmed_off() const { return state_ == State::resting; }
  [[nodiscard]] rules::OutletKnown known(Instant now) const;

 private:
  enum class State { off_wanted, resting, on_expected };

  rules::OutletRole role_;
  State state_ = State::off_wanted;  // until proven, an outlet may be on
  bool off_outstanding_ = false;
  bool look_outstanding_ = false;
  int off_tries_ = 0;
  int seen_on_after_off_ = 0;
  Instant next_try_{};
  Instant confirmed_at_{};
};

}  // namespace limegate::station
