#pragma once

#include <string>
#include <variant>
#include <vector>

#include "rules/for_people.h"
#include "rules/reasons.h"

namespace limegate::rules {

/// One reason why dosing is held, with the values that make it so.
using Hold =
    std::variant<StirrerRunning, StirrerUnknown, StirOverdue, StirEndless, Settling, ProbeMissing,
                 ProbeStale, ProbeNotANumber, ProbeImplausible, ProbeStuck, ProbeUnsteady,
                 ProbeDisturbed, ProbesDisagree, NotYetProven, CeilingReached, SecondCeilingReached,
                 Climbing, ClimbUnknown, UnusualClimb, ClimbGoesOn, Risen, EffectTooLarge,
                 TimerStepTooLong, HourAllowanceSpent, DayAllowanceSpent, Paused, LedgerNotWritable,
                 DiskSlow, OutletUnconfirmed, OutletStuckOn, OutletFoundOn, PumpTimerFailed,
                 SwitchedOff, RecordLost, UnknownLatch, OwnerHold>;
using Holds = std::vector<Hold>;

enum class Clears { by_itself, by_person };

/// Whether a hold also ends a pulse that runs, or only keeps the next one back. (A pulse was
/// counted in full before it began: a spent allowance is no reason to cut it short.)
enum class Reach { ends_pulse, before_pulse };

/// A stable name for records, topics and scripts, e.g. "ph-stale". Lower case, digits, hyphens.
[[nodiscard]] std::string code_of(const Hold& hold);
/// Of a hold by this owner's rule, and of an alert.
[[nodiscard]] std::string owner_code(const std::string& rule);
/// One sentence for people, with the numbers. Sentences may change; codes may not.
[[nodiscard]] std::string sentence_of(const Hold& hold);
[[nodiscard]] Clears clears(const Hold& hold);
[[nodiscard]] Reach reach(const Hold& hold);

/// "by-itself", "by-person".
[[nodiscard]] const char* name_of(Clears clears);
/// Whether a hold that lasts needs a person: it does not mend itself, and it is not the keeper's
/// own wish, a pulse's, a stir's or an allowance's.
[[nodiscard]] bool needs_person(const Hold& hold);

}  // namespace limegate::rules
