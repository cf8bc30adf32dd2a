#pragma once

#include <algorithm>
#include <optional>

#include "config/config.h"
#include "station/water_response.h"
#include "units/quantities.h"

namespace limegate::config {

/// The volume that raises the pH of this tank by `rise` at the most, in a closed system.
[[nodiscard]] constexpr Millilitres volume_for_rise(PhChange rise, Litres water) {
  return Millilitres{rise.count() / station::kPhPerMlPerL * water.count()};
}

/// The water at which pulses sized by chemistry are largest and smallest in an ordinary day.
constexpr Ph kHighPh{8.4}, kLowPh{7.9};
constexpr Celsius kOrdinaryTemperature{25.5};

/// What chemistry permits at this pH. Absent without a tested alkalinity.
[[nodiscard]] inline std::optional<Millilitres> volume_at(Ph ph, PhChange rise,
                                                          const station::SiteWater& water) {
  if (!water.alkalinity) {
    return std::nullopt;
  }
  const auto per_ml = station::rise_per_millilitre(water.volume, *water.alkalinity, water.salinity,
                                                   ph, kOrdinaryTemperature);
  return per_ml ? std::optional{Millilitres{rise / *per_ml}} : std::nullopt;
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

}  // namespace limegate::config
