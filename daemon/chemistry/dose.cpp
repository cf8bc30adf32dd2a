#include "chemistry/dose.h"

#include "chemistry/density.h"
#include "chemistry/keeper_units.h"

namespace limegate::chemistry {
namespace {

Litres volume_of(const Tank& tank) {
  return Litres{tank.mass.count() / density_within_range(tank.salinity, tank.temperature).count()};
}

Kilograms mass_of(const Limewater& limewater, Millilitres dose) {
  return Kilograms{dose.count() / 1000.0 * limewater.density.count()};
}

/// Mixing by mass, dose unchecked.
Tank mixed(const Tank& tank, const Limewater& limewater, Millilitres dose) {
  const Kilograms added = mass_of(limewater, dose);
  const Kilograms total = tank.mass + added;
  const double kept = tank.mass / total;
  const MicromolPerKg brought{limewater.strength.count() * 1000.0 * (added / total)};
  Tank after = tank;
  after.mass = total;
  after.salinity = Salinity{tank.salinity.count() * kept};
  after.alkalinity = tank.alkalinity * kept + 2.0 * brought;  // two charges to each calcium
  after.dissolved_carbon = tank.dissolved_carbon * kept;
  after.calcium = tank.calcium * kept + brought;
  return after;
}

}  // namespace

Result<Tank> tank_of(Litres volume, const SeawaterConstants& constants, const CarbonateState& water,
                     BoronSource boron) {
  if (!holds(kTankVolumeRange, volume.count())) {
    return outside(kTankVolumeRange, volume.count());
  }
  return Tank{Kilograms{volume.count() * constants.density.count()},
              constants.salinity,
              constants.temperature,
              water.alkalinity,
              water.dissolved_carbon,
              water.calcium,
              boron};
}

Result<CarbonateState> solve(const Tank& tank) {
  return seawater_constants(tank.salinity, tank.temperature, tank.boron)
      .and_then([&](const SeawaterConstants& c) { return with_calcium(c, tank.calcium); })
      .and_then([&](const SeawaterConstants& c) {
        return solve_from_carbon(c, tank.alkalinity, tank.dissolved_carbon);
      });
}

Result<Tank> add(const Tank& tank, const Limewater& limewater, Millilitres dose) {
  const double per_litre = dose.count() / volume_of(tank).count();
  if (!holds(kDoseRange, per_litre)) {
    return outside(kDoseRange, per_litre);
  }
  return mixed(tank, limewater, dose);
}

Result<DoseEffect> effect_of(const Tank& tank, const Limewater& limewater, Millilitres dose) {
  const auto before = solve(tank);
  if (!before) {
    return tl::unexpected(before.error());
  }
  const auto after = add(tank, limewater, dose).and_then(solve);
  if (!after) {
    return tl::unexpected(after.error());
  }
  return DoseEffect{*before, *after, after->ph_total - before->ph_total};
}

Result<PhTotalChange> rise_per_millilitre(const Tank& tank, const Limewater& limewater) {
  // A symmetric difference takes in dilution and the shift of the constants, which the buffer
  // capacity alone leaves out. One part in 1e5 of the tank is far above rounding and far below
  // curvature; taking out is as exact as putting in.
  const Millilitres step{volume_of(tank).count() * 0.01};
  const auto above = solve(mixed(tank, limewater, step));
  if (!above) {
    return tl::unexpected(above.error());
  }
  const auto below = solve(mixed(tank, limewater, -step));
  if (!below) {
    return tl::unexpected(below.error());
  }
  return (above->ph_total - below->ph_total) / (2.0 * step.count());
}

Result<Millilitres> largest_dose(const Tank& tank, const Limewater& limewater,
                                 const DoseLimits& limits) {
  if (!holds(kRiseLimitRange, limits.rise_max.count())) {
    return outside(kRiseLimitRange, limits.rise_max.count());
  }
  if (!holds(kOmegaLimitRange, limits.omega_aragonite_max)) {
    return outside(kOmegaLimitRange, limits.omega_aragonite_max);
  }
  const auto before = solve(tank);
  if (!before) {
    return tl::unexpected(before.error());
  }
  // Water that cannot be solved after the dose is past every limit.
  const auto permitted = [&](Millilitres dose) {
    const auto after = solve(mixed(tank, limewater, dose));
    return after && after->ph_total - before->ph_total <= limits.rise_max &&
           after->omega_aragonite <= limits.omega_aragonite_max;
  };
  Millilitres refused = volume_of(tank).count() * Millilitres{kDailyDoseRange.highest};
  if (permitted(refused)) {
    return refused;
  }
  // 50 halvings end below the last bit; what is returned was itself found permitted, or is zero.
  Millilitres allowed{0.0};
  for (int halving = 0; halving < 50; ++halving) {
    const Millilitres middle = 0.5 * (allowed + refused);
    (permitted(middle) ? allowed : refused) = middle;
  }
  return allowed;
}

Result<DailyAddition> daily_addition(Litres tank_volume, const Limewater& limewater,
                                     Millilitres per_day, Litres evaporation_per_day) {
  if (!holds(kTankVolumeRange, tank_volume.count())) {
    return outside(kTankVolumeRange, tank_volume.count());
  }
  const double per_litre = per_day.count() / tank_volume.count();
  if (!holds(kDailyDoseRange, per_litre)) {
    return outside(kDailyDoseRange, per_litre);
  }
  const ValidRange evaporation{"evaporation", "L per day", 0.001, tank_volume.count(),
                               "a site's own figure: measured, above nothing, less than the tank"};
  if (!holds(evaporation, evaporation_per_day.count())) {
    return outside(evaporation, evaporation_per_day.count());
  }
  const double share = per_day / to_millilitres(tank_volume);
  const LimewaterProperties properties = properties_of(limewater);
  return DailyAddition{to_dkh(properties.alkalinity * share), properties.calcium * share,
                       Percent{per_day / to_millilitres(evaporation_per_day) * 100.0}};
}

}  // namespace limegate::chemistry
