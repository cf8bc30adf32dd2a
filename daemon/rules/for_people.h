#pragma once

#include <string>

#include "units/quantities.h"
#include "units/time.h"

namespace limegate::rules {

/// "12 s", "4 min", "1 h 05 min": a duration for people, rounded up so that it never says zero
/// while something still waits; what is past waits no more, and is "0 s".
[[nodiscard]] std::string for_people(Duration duration);
[[nodiscard]] std::string volume_for_people(Millilitres volume);   ///< "83.3 mL"
[[nodiscard]] std::string temperature_for_people(double celsius);  ///< "25.5 °C"

}  // namespace limegate::rules
