#pragma once

#include <map>
#include <string>

#include "units/quantities.h"
#include "units/time.h"

namespace limegate::app {

// What a report advises, of a rehearsal and of what was alike.

/// Of the plan: less of it is worth a look.
constexpr double kMostOfPlan = 0.9;
/// Where less than that was given: why, as far as holds tell. Empty where enough was.
[[nodiscard]] std::string advice_on_volume(Millilitres given, Millilitres planned,
                                           const std::map<std::string, Duration>& held);

/// "pH passed the ceiling of 8.45", without a full stop.
[[nodiscard]] std::string passed_ceiling(Ph ceiling);
/// The same, with what the plan can do about it.
[[nodiscard]] std::string advice_on_ceiling(Ph ceiling);

}  // namespace limegate::app
