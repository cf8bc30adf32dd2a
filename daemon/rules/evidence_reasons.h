#pragma once

#include <variant>

#include "units/quantities.h"
#include "units/time.h"

/// Why dosing is held because too little is known: of the stirrer, and of the probes. Each kind has
/// its row and its judge in rules/stirrer_rules.cpp or rules/probe_rules.cpp.
namespace limegate::rules {

enum class Role { ph, second_ph, temperature };  ///< which probe a hold speaks of
enum class OutletRole { pump, stirrer };         ///< which outlet a hold speaks of

struct StirrerRunning {};
struct StirrerUnknown {};
struct StirOverdue {};
struct StirEndless {};
struct Settling {
  Duration remaining;
};
struct ProbeMissing {
  Role role;
};
struct ProbeStale {
  Role role;
  Duration age, limit;
};
struct ProbeNotANumber {
  Role role;
};
struct ProbeImplausible {
  Role role;
  double value, low, high;
};
struct ProbeStuck {
  Role role;
  double value;
  Duration lasting;
};
struct ProbeUnsteady {
  Role role;
  Duration remaining;
};
struct ProbeDisturbed {
  Duration remaining;
};
struct ProbesDisagree {
  Ph first, second;
  PhChange limit;
  Duration lasting;
};
struct NotYetProven {
  Duration remaining;
};

using StirrerHold =
    std::variant<StirrerRunning, StirrerUnknown, StirOverdue, StirEndless, Settling>;
using ProbeHold =
    std::variant<ProbeMissing, ProbeStale, ProbeNotANumber, ProbeImplausible, ProbeStuck,
                 ProbeUnsteady, ProbeDisturbed, ProbesDisagree, NotYetProven>;

}  // namespace limegate::rules
