#pragma once

#include <optional>
#include <string>
#include <variant>

#include "rules/evidence_reasons.h"
#include "signal/joined_climb.h"
#include "units/quantities.h"
#include "units/time.h"

/// Every other reason why dosing may be held, with the values that make it so. Each kind has its
/// row and its judge in the source that is named at its list.
namespace limegate::rules {

struct CeilingReached {
  std::optional<Ph> value;  ///< absent: not known now
  Ph limit, resume;
};
struct SecondCeilingReached {
  std::optional<Ph> value;
  Ph limit;
};
struct Climbing {
  std::optional<PhChange> rise;
  PhChange limit;
  Duration window;
};
struct ClimbUnknown {
  Duration remaining, window;
};
struct UnusualClimb {
  std::optional<PhChange> rise;     ///< absent: there is no pH to go by just now
  PhChange limit, allowance_per_h;  ///< rise and limit in terms of the slow limit
  signal::Pace pace = signal::Pace::slow;
};
struct ClimbGoesOn {
  PhChange limit;
  Duration lasting;
};
struct Risen {
  std::optional<PhChange> rise;  ///< absent: there is no pH to go by just now
  PhChange limit, resume;
};
/// In times the usual effect.
struct EffectTooLarge {
  std::optional<double> share;  ///< when it was seen; absent: before the last start
  double limit;
};
/// By a water test of the keeper's.
struct AlkalinityTooHigh {
  std::optional<Dkh> tested;  ///< the newest; absent: it is not in the book any more
  Dkh limit;
};
/// The water does not bear the smallest pulse that the board can end.
struct TimerStepTooLong {
  Millilitres step, bearable;
};
struct HourAllowanceSpent {
  Millilitres given, next, limit;
};
struct DayAllowanceSpent {
  Millilitres given, next, limit;
};
struct Paused {
  Duration remaining;
};
struct LedgerNotWritable {
  std::string why;
};
/// What must be written first is not written in time.
struct DiskSlow {
  Duration remaining;  ///< until it is tried again
};
struct OutletUnconfirmed {
  OutletRole role;
};
struct OutletStuckOn {
  OutletRole role;
};
/// The second time within 24 hours.
struct OutletFoundOn {
  OutletRole role;
};
struct PumpTimerFailed {};
/// By `limegate off`, while the daemon ran.
struct SwitchedOff {};
/// No sound copy is left of what waited for a person.
struct RecordLost {};
/// Kept as waiting for a person, under a code that this version does not know.
struct UnknownLatch {
  std::string code;
};

/// A rule of the owner's own (rules/owner_rule.h).
struct OwnerHold {
  std::string rule;  ///< its name
  std::string sentence;
  enum class Why { met, unknown, latched } why;
  bool watching = false;  ///< unknown only until a climb was watched for long enough
};

/// rules/water_rules.cpp
using WaterHold = std::variant<CeilingReached, SecondCeilingReached, Climbing, ClimbUnknown,
                               UnusualClimb, ClimbGoesOn, Risen, EffectTooLarge, AlkalinityTooHigh>;
/// rules/volume_rules.cpp
using VolumeHold = std::variant<TimerStepTooLong, HourAllowanceSpent, DayAllowanceSpent, Paused>;
/// rules/record_rules.cpp
using RecordHold = std::variant<LedgerNotWritable, DiskSlow, RecordLost, UnknownLatch, OwnerHold>;
/// rules/outlet_rules.cpp
using OutletHold =
    std::variant<OutletUnconfirmed, OutletStuckOn, OutletFoundOn, PumpTimerFailed, SwitchedOff>;

}  // namespace limegate::rules
