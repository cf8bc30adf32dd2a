#pragma once

#include <string>
#include <variant>
#include <vector>

#include "rules/for_people.h"
#include "rules/limits.h"
#include "rules/reasons.h"
#include "rules/snapshot.h"

namespace limegate::rules {

template <class... Families>
struct Joined;
template <class... All>
struct Joined<std::variant<All...>> {
  using Type = std::variant<All...>;
};
template <class... First, class... Second, class... Others>
struct Joined<std::variant<First...>, std::variant<Second...>, Others...>
    : Joined<std::variant<First..., Second...>, Others...> {};

using AnyReason =
    Joined<StirrerHold, ProbeHold, WaterHold, VolumeHold, RecordHold, OutletHold>::Type;
/// One reason why dosing is held, with the values that make it so. Copies and ends are compiled
/// once: of so many alternatives they took a third of the time of each source that has a hold.
struct Hold : AnyReason {
  using AnyReason::AnyReason;
  Hold(const Hold&);
  Hold(Hold&&) noexcept;
  Hold& operator=(const Hold&);
  Hold& operator=(Hold&&) noexcept;
  ~Hold();
};
using Holds = std::vector<Hold>;

// What follows is asked of the hold's row (rules/hold_row.h).

/// A stable name for records, topics and scripts, e.g. "ph-stale". Lower case, digits, hyphens.
[[nodiscard]] std::string code_of(const Hold& hold);
/// Of a hold by this owner's rule, and of an alert.
[[nodiscard]] std::string owner_code(const std::string& rule);
/// One sentence for people, with the numbers. Sentences may change; codes may not.
[[nodiscard]] std::string sentence_of(const Hold& hold);

enum class Clears { by_itself, by_person };
[[nodiscard]] Clears clears(const Hold& hold);
/// "by-itself", "by-person".
[[nodiscard]] const char* name_of(Clears clears);

/// Whether a hold also ends a pulse that runs, or only keeps the next one back. (A pulse was
/// counted in full before it began: a spent allowance is no reason to cut it short.)
enum class Reach { ends_pulse, before_pulse };
[[nodiscard]] Reach reach(const Hold& hold);

/// Whether a hold that lasts needs a person: it does not mend itself, and it is not the keeper's
/// own wish, a pulse's, a stir's or an allowance's. (What only a person clears is told at once.)
enum class Person { not_needed, if_it_lasts };
[[nodiscard]] Person person(const Hold& hold);

/// Whether pH teaches what is usual while it stands.
enum class Teaches { yes, no };
[[nodiscard]] Teaches teaches(const Hold& hold);

/// Whether it says that limewater may be flowing which nobody commanded. Then a stirrer rests, for
/// stirred it would be milk.
enum class Flow { as_commanded, perhaps_uncommanded };
[[nodiscard]] Flow flow(const Hold& hold);

/// The key of the file that sets its limit, with its table, e.g. "limits.ph_ceiling"; empty: none.
[[nodiscard]] std::string limit_key(const Hold& hold);

/// All that a release may depend on.
struct Circumstances {
  const Snapshot& known;
  const Memory& memory;
  const Limits& limits;
};
/// Why a hold that waits for a person can't be released yet; empty: its cause is gone, or nothing
/// at the station shows whether it is.
[[nodiscard]] std::string still_there(const Hold& hold, const Circumstances& now);

/// A hold that the memory keeps from one judgement to the next, and what its row says of it. One
/// that clears by a person is a latch.
struct Remembered {
  bool Memory::*flag;
  Hold hold;  ///< without its numbers
  std::string code;
  Clears clears;
  Teaches teaches;
  Flow flow;
};
/// All of them.
[[nodiscard]] const std::vector<Remembered>& remembered();

}  // namespace limegate::rules
