#pragma once

#include "chemistry/dose.h"
#include "config/config.h"

namespace limegate::app {

/// What a day's limewater brings to a station's tank in place of evaporation. An estimate.
/// Errors: those of chemistry::daily_addition().
[[nodiscard]] inline chemistry::Result<chemistry::DailyAddition> supply_of(
    const config::Site& site, const chemistry::Limewater& limewater, Millilitres day) {
  return chemistry::daily_addition(site.water, limewater, day,
                                   Litres{site.evaporation_per_day.count() / 1000.0});
}

}  // namespace limegate::app
