#pragma once

#include "chemistry/carbonate_system.h"
#include "chemistry/limewater.h"
#include "chemistry/seawater_constants.h"

namespace limegate::chemistry {

inline constexpr ValidRange kTankVolumeRange{"tank volume", "L", 1.0, 1e6,
                                             "this program: one litre to a public aquarium"};
/// What may be asked about: also an emptied reservoir, so far more than may ever be dosed.
inline constexpr ValidRange kDoseRange{"dose", "mL per L of tank", 0.0, 200.0,
                                       "this program: past a fifth of the tank nothing is checked"};
/// What may be dosed in a day, and the most that largest_dose() answers.
inline constexpr ValidRange kDailyDoseRange{"dose of a day", "mL per L of tank", 0.0, 20.0,
                                            "hard bound of 24 h: 20 mL per litre, about 2.3 dKH"};
inline constexpr ValidRange kRiseLimitRange{"limit of the pH rise", "", 0.0, 2.0,
                                            "this program: a rise of more than 2 limits nothing"};
inline constexpr ValidRange kOmegaLimitRange{"limit of omega aragonite", "", 0.0, 30.0,
                                             "Ringham et al. 2024: precipitation above 30"};

/// A tank's water as the amounts that mixing conserves. Mixing is closed: no air, no precipitation.
struct Tank {
  Kilograms mass;
  Salinity salinity;
  Celsius temperature;
  MicromolPerKg alkalinity;
  MicromolPerKg dissolved_carbon;
  MicromolPerKg calcium;
  BoronSource boron = BoronSource::uppstroem_1974;
};

/// A tank of this volume filled with solved water.
/// Valid:  1..1e6 L.   Errors: ChemistryFault outside.   Thread: any (so all functions here).
[[nodiscard]] Result<Tank> tank_of(Litres volume, const SeawaterConstants& constants,
                                   const CarbonateState& water,
                                   BoronSource boron = BoronSource::uppstroem_1974);

/// The carbonate system of the tank's water.
/// Valid:  the ranges of seawater_constants(), with_calcium() and solve_from_carbon(); their
/// errors.
[[nodiscard]] Result<CarbonateState> solve(const Tank& tank);

/// The tank after a dose has mixed in: by mass, limewater without carbon, temperature unchanged.
/// Two doses one after the other give exactly what their sum gives.
/// Valid:  0..200 mL per litre of tank.   Errors: ChemistryFault outside.
[[nodiscard]] Result<Tank> add(const Tank& tank, const Limewater& limewater, Millilitres dose);

/// What a dose does to a tank.
struct DoseEffect {
  CarbonateState before;
  CarbonateState after;
  PhTotalChange rise;
};
/// Valid, errors: those of add() and solve(), before and after.
[[nodiscard]] Result<DoseEffect> effect_of(const Tank& tank, const Limewater& limewater,
                                           Millilitres dose);

/// How quickly pH answers to a small dose: pH per mL. The buffer response for pulse and hour
/// limits. Valid, errors: those of solve().
[[nodiscard]] Result<PhTotalChange> rise_per_millilitre(const Tank& tank,
                                                        const Limewater& limewater);

struct DoseLimits {
  /// LIMITS of one pulse: a predicted rise of 0.02 pH in a closed system.
  PhTotalChange rise_max{0.02};
  /// Moras et al. 2022, Biogeosciences 19, 3537: runaway loss of alkalinity above about 7.
  double omega_aragonite_max = 7.0;
};

/// The largest dose that keeps rise and omega at or below their limits; zero where omega is above
/// its limit already; never more than 20 mL per litre of tank.
/// Valid:  rise 0..2 pH, omega 0..30, and those of solve().   Errors: ChemistryFault outside.
[[nodiscard]] Result<Millilitres> largest_dose(const Tank& tank, const Limewater& limewater,
                                               const DoseLimits& limits);

/// The steady view: what a day's limewater adds where it replaces evaporation, so that nothing is
/// diluted. `share_of_evaporation` above 100 % floods the tank.
struct DailyAddition {
  Dkh alkalinity;      ///< dKH per day
  MgPerLitre calcium;  ///< mg/L per day
  Percent share_of_evaporation;
};
/// Valid:  tank 1..1e6 L, day 0..20 mL per litre of tank, evaporation above 0 and up to the tank.
/// Errors: ChemistryFault outside of that.
[[nodiscard]] Result<DailyAddition> daily_addition(Litres tank_volume, const Limewater& limewater,
                                                   Millilitres per_day, Litres evaporation_per_day);

}  // namespace limegate::chemistry
