#pragma once

#include <optional>

#include "rules/snapshot.h"
#include "station/effects.h"
#include "station/observation.h"
#include "units/time.h"

namespace limegate::station {

/// Keeps one outlet honest: switches it off until a read-back confirms it, and looks at it now and
/// then while it rests, so that one that was welded, or switched by somebody else, is noticed.
class OutletWatch {
 public:
  explicit OutletWatch(rules::OutletRole role) : role_(role) {}

  /// From now on the outlet shall be off. Asking again changes nothing.
  void want_off(Instant now);

  /// The same, sent now.
  void switch_off(Instant now, Effects& effects) {
    want_off(now);
    supervise(now, effects);
  }

  /// Nothing is looked at while a run has been commanded and its end has not come.
  void expect_on();

  /// Emits what is due: the off command (again, until confirmed), or a look: a routine one, and the
  /// very first thing at a start, so that an outlet that somebody left on is known.
  void supervise(Instant now, Effects& effects);

  /// Asks for one look as soon as none is outstanding.
  void look(Effects& effects);

  void take(Instant now, const OutletReport& report, Effects& effects);

  /// A commanded run is over: the outlet was seen off after its end.
  void seen_off(Instant now);

  /// Whether it was found on although it was to rest: two looks in a row said so, or one did and
  /// nothing was heard for long after it. Answers once.
  [[nodiscard]] bool found_on();

  [[nodiscard]] bool confirmed_off() const { return state_ == State::resting; }
  /// When it was confirmed off last before it was found on; absent before the first time.
  [[nodiscard]] std::optional<Instant> last_off() const { return last_off_; }
  [[nodiscard]] rules::OutletKnown known(Instant now) const;
  /// Since when it is to be off and is not confirmed so, if it was switched on or seen on since the
  /// start.
  [[nodiscard]] std::optional<Instant> off_due_since() const {
    return may_be_on_ && state_ == State::off_wanted ? std::optional{wanted_off_at_} : std::nullopt;
  }

 private:
  enum class State { unseen, off_wanted, resting, on_expected };
  void suspect(Instant now, Effects& effects);

  rules::OutletRole role_;
  State state_ = State::unseen;  // until proven, an outlet may be on
  bool off_outstanding_ = false;
  bool look_outstanding_ = false;
  std::optional<Instant> suspected_at_;  ///< a look said on while it was to rest
  bool found_on_ = false;
  bool may_be_on_ = false;  ///< it was switched on, or seen on, and not confirmed off since
  Instant wanted_off_at_{};
  int off_tries_ = 0;
  int seen_on_after_off_ = 0;
  Instant next_try_{};
  std::optional<Instant> confirmed_at_, last_off_;
};

}  // namespace limegate::station
