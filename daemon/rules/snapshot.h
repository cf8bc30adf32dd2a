#pragma once

#include <optional>
#include <string>

#include "signal/joined_climb.h"
#include "signal/reading.h"
#include "units/quantities.h"
#include "units/time.h"

namespace limegate::rules {

/// What is known of the reactor's stirrer.
struct StirrerKnown {
  enum class State { running, unknown, resting } state = State::unknown;
  Instant rested_since;  ///< resting: when it was last seen or confirmed to stop
  /// Of one that is only observed: overdue by more than a cycle, or running for longer than one.
  enum class Rhythm { kept, overdue, endless } rhythm = Rhythm::kept;
};

/// For records and screens: "running", "unknown", "resting".
[[nodiscard]] const char* name_of(StirrerKnown::State state);

/// What is known of an outlet against what was commanded. `stuck_on` = it reads on after it was
/// switched off again and again.
enum class OutletKnown { as_commanded, unconfirmed, stuck_on };

/// Whether an outlet was found on although nobody had commanded it; again = twice in 24 hours.
enum class Found { never, once, again };

/// What is left of pH beside its usual course of the day.
struct Residual {
  PhChange value;
  PhChange climb;                          ///< how far it has climbed, in terms of the slow limit
  signal::Pace pace = signal::Pace::slow;  ///< of the judge that says so
};

/// What the doses of the last day did to pH.
struct DoseEffect {
  double share = 0.0;         ///< of what they usually do
  double at_least = 0.0;      ///< the same less its standard errors
  double of_chemistry = 0.0;  ///< of what chemistry expects
};

/// The newest test of alkalinity in the keeper's book.
struct TestedAlkalinity {
  Dkh level;
  Duration age{};  ///< at least; below zero: it is dated later than now
};

struct Snapshot;
/// The pH that every rule goes by: that of the probe that shows the higher one.
[[nodiscard]] signal::Reading counting_ph(const Snapshot& known);

/// Everything the rules may look at, gathered at one moment. What is absent holds.
struct Snapshot {
  signal::Reading ph;
  std::optional<signal::Reading> second_ph;  ///< absent: there is no second probe
  signal::Reading temperature;
  /// Of pH within the climb window, from good undisturbed readings. Absent: nobody watched it.
  std::optional<PhChange> rise;
  Duration rise_unknown_for{};  ///< while it is absent: if nothing is missed
  /// Absent until the usual course is learned, and until a pulse has mixed in.
  std::optional<Residual> residual;
  /// Of pH above its reference of undosed days at this hour. Absent without a reference, and until
  /// the usual course is learned.
  std::optional<PhChange> above_reference;
  enum class PumpFlow { possible, none } pump_flow = PumpFlow::possible;  ///< by command
  std::optional<Duration> flowing_for;         ///< absent while none is possible
  std::optional<DoseEffect> dose_effect;       ///< absent until it is learned, and while none shows
  std::optional<TestedAlkalinity> alkalinity;  ///< absent: none was ever tested
  std::optional<Instant> disturbed_until;
  StirrerKnown stirrer;
  OutletKnown pump_outlet = OutletKnown::unconfirmed;
  OutletKnown stirrer_outlet = OutletKnown::unconfirmed;
  Found pump_found = Found::never, stirrer_found = Found::never;
  enum class PumpTimer { trusted, failed } pump_timer = PumpTimer::trusted;  ///< the board's own
  std::optional<std::string> ledger_fault = "not opened yet";                ///< absent = writable
  std::optional<Instant> disk_slow_until, paused_until;
  Millilitres given_hour, given_day;  ///< counted by the ledger in the sliding windows
  Millilitres next_pulse;             ///< the volume that would be given next
  Millilitres least_pulse;            ///< the smallest that the board's timer can end; zero: any
  /// Of a pulse of the plan: the largest volume in force within 24 h, and one pulse. Absent: the
  /// pulse is none of the plan's.
  std::optional<Millilitres> day_in_force;
  /// The rise of pH by one millilitre at the present water. Absent: no volume is sized by it.
  std::optional<PhChange> rise_per_ml;
};

}  // namespace limegate::rules
