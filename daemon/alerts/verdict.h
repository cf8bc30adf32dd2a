#pragma once

#include <string>

#include "station/status.h"

namespace limegate::alerts {

/// What somebody who looks for seconds must know of a station: the same on every surface.
struct Verdict {
  enum class Standing {
    needs_a_person,  ///< now or today; `action` says what to do
    held,            ///< no pulse may begin, and that ends by itself
    paused,          ///< by a person, until a time
    well             ///< dosing goes on
  } standing = Standing::held;
  std::string sentence;
  std::string action;  ///< in sentences; empty: nothing is to be done
};
/// "needs-a-person", "held", "paused", "well": for records and screens. Stable.
[[nodiscard]] const char* name_of(Verdict::Standing standing);

/// The most urgent alert that can't wait for days comes first, even if somebody has seen it: a
/// tank is not well because its keeper knows. Then a pause, then what holds, then the next pulse.
[[nodiscard]] Verdict verdict_of(const station::Status& status);

}  // namespace limegate::alerts
