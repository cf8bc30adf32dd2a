#pragma once

#include <optional>
#include <string>

#include "signal/reading.h"
#include "units/quantities.h"
#include "units/time.h"

namespace limegate::rules {

/// What is known of the reactor's stirrer.
struct StirrerKnown {
  enum class State { running, unknown, resting } state = State::unknown;
  Instant rested_since;  ///< resting: when it was last seen or confirmed to stop
};

/// For records and screens: "running", "unknown", "resting".
[[nodiscard]] const char* name_of(StirrerKnown::State state);

/// What is known of an outlet against what was commanded. `stuck_on` = it reads on after it was
/// switched off again and again.
enum class OutletKnown { as_commanded, unconfirmed, stuck_on };

/// What is left of pH beside its usual course of the day.
struct Residual {
  PhChange value;
  PhChange climb;  ///< how far it has climbed beyond the allowance
};

/// What the doses of the last day did to pH, as a share of what they usually do.
struct DoseEffect {
  double share;
  double at_least;  ///< by its standard error
};

struct Snapshot;
/// The pH that every rule goes by: that of the probe that shows the higher one.
[[nodiscard]] signal::Reading counting_ph(const Snapshot& known);

/// Everything the rules may look at, gathered at one moment. What is absent holds.
struct Snapshot {
  signal::Reading ph;
  std::optional<signal::Reading> second_ph;  ///< absent: there is no second probe
  signal::Reading temperature;
  PhChange rise;  ///< of pH within the climb window, from good undisturbed readings
  /// Absent until the usual course is learned, and until a pulse has mixed in.
  std::optional<Residual> residual;
  /// Of pH above its reference of undosed days at this hour. Absent without a reference, and until
  /// the usual course is learned.
  std::optional<PhChange> above_reference;
  enum class PumpFlow { possible, none } pump_flow = PumpFlow::possible;  ///< by command
  std::optional<DoseEffect> dose_effect;  ///< absent until it is learned, and while none shows
  std::optional<Instant> disturbed_until;
  StirrerKnown stirrer;
  OutletKnown pump_outlet = OutletKnown::unconfirmed;
  OutletKnown stirrer_outlet = OutletKnown::unconfirmed;
  enum class PumpTimer { trusted, failed } pump_timer = PumpTimer::trusted;  ///< the board's own
  std::optional<std::string> ledger_fault = "not opened yet";                ///< absent = writable
  std::optional<Instant> paused_until;
  Millilitres given_hour, given_day;  ///< counted by the ledger in the sliding windows
  Millilitres next_pulse;             ///< the volume that would be given next
  /// The rise of pH by one millilitre at the present water. Absent: no volume is sized by it.
  std::optional<PhChange> rise_per_ml;
};

}  // namespace limegate::rules
