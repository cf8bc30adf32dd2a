#pragma once

#include <algorithm>

#include "config/config.h"
#include "units/quantities.h"

namespace limegate::config {

/// The largest rise of pH by a small dose: pH per mL of saturated limewater in a litre of tank
/// water. It serves until chemistry sizes each pulse by the present water; a tank with a higher pH
/// or alkalinity rises less.
/// Source: tests/data/limewater_additions.csv, TA 2300 µmol/kg and pH_T 7.70, 0.5 mL/L: +0.046.
constexpr double kPhPerMlPerL = 0.092;

/// The volume that raises the pH of this tank by `rise` at the most, in a closed system.
[[nodiscard]] constexpr Millilitres volume_for_rise(PhChange rise, Litres water) {
  return Millilitres{rise.count() / kPhPerMlPerL * water.count()};
}

/// No day's volume may pass this: evaporation (more would flood the tank), or 20 mL per litre of
/// tank water (about 2.3 dKH), whichever is smaller.
[[nodiscard]] constexpr Millilitres day_bound(const Site& site) {
  return std::min(site.evaporation_per_day, Millilitres{20.0 * site.water.count()});
}

constexpr PhChange kPulseRise{0.02};       ///< default of one pulse
constexpr PhChange kPulseRiseBound{0.05};  ///< no file can pass it
constexpr PhChange kHourRise{0.08};
constexpr PhChange kHourRiseBound{0.15};
constexpr MillimetresPerHour kUpflowWarn{150.0};

}  // namespace limegate::config
