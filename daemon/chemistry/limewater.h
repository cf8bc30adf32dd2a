#pragma once

#include "chemistry/valid_range.h"
#include "units/quantities.h"

namespace limegate::chemistry {

inline constexpr ValidRange kReactorTemperatureRange{
    "limewater temperature", "C", 1.0, 40.0, "range of the solubility series the fit stands on"};
inline constexpr ValidRange kStrengthRange{
    "limewater strength", "mmol/kg", 0.0, 30.0,
    "no published solubility of calcium hydroxide is above 26 mmol/kg"};
inline constexpr ValidRange kSiteFactorRange{
    "reading over computed conductivity", "", 0.7, 1.5,
    "this program: past this the limewater was not saturated, or the probe is at fault"};
inline constexpr ValidRange kSpoiledRange{"spoiled share", "%", 0.0, 100.0,
                                          "a share of the calcium hydroxide"};

/// Limewater as it leaves the reactor. `strength` is mmol of Ca(OH)2 per kilogram of solution.
struct Limewater {
  MmolPerKg strength;
  Celsius temperature;
  KgPerLitre density;
};

/// What limewater of a given strength is like.
struct LimewaterProperties {
  MeqPerLitre alkalinity;
  MgPerLitre calcium;
  Ph ph;                           ///< NBS/IUPAC scale
  MillisiemensPerCm conductivity;  ///< as it is at its temperature, not compensated
};

/// Strength of saturated limewater: one cubic through the thermodynamic series whose value at
/// 25 degC is that of Bates, Bower & Smith 1956 (0.0203 mol/L), J. Res. NBS 56, 305.
/// Valid:  1..40 degC, the temperature of the reactor, not of the tank.   Thread: any.
/// Errors: ChemistryFault outside of that.
/// Source: tests/data/limewater_strength.csv, column m_fix, within 0.002 mmol/kg.
[[nodiscard]] Result<MmolPerKg> saturated_strength(Celsius reactor);

/// How far other published series lie from saturated_strength(), up or down: 5.6 % at 40 degC, more
/// the colder it is. Every series of tests/data/limewater_strength.csv lies within it, also the
/// handbook's that is quoted there from memory, and the widest comes near it.
/// Valid, errors, thread: as saturated_strength().
[[nodiscard]] Result<Percent> strength_spread(Celsius reactor);

/// Limewater of a stated strength, with its density.
/// Valid:  0..30 mmol/kg, 1..40 degC.   Errors: ChemistryFault outside of that.   Thread: any.
/// Source: EOS-80 pure water and the density column rho_fix of tests/data/limewater_strength.csv.
[[nodiscard]] Result<Limewater> limewater_of(MmolPerKg strength, Celsius temperature);

/// Saturated limewater, as a well-kept reactor gives it: saturated_strength() and limewater_of().
/// Valid:  1..40 degC, the temperature of the reactor.   Errors: ChemistryFault outside.
/// Thread: any.
[[nodiscard]] Result<Limewater> saturated_limewater(Celsius reactor);

/// Limewater after CO2 from the air has used up a share of it: 0 % is fresh, 100 % is plain water.
/// One mol of CO2 takes one mol of Ca(OH)2 out as chalk.
/// Valid:  0..100 %.   Errors: ChemistryFault outside of that.   Thread: any.
[[nodiscard]] Result<Limewater> spoiled(const Limewater& fresh, Percent share);

/// Calcium hydroxide in so much limewater: what the reactor's powder loses by it. Grams.
[[nodiscard]] double powder_grams(const Limewater& limewater, Millilitres volume);

/// Alkalinity, calcium, pH and conductivity of limewater.   Thread: any.
/// Errors: none; `limewater` comes from limewater_of(). The pH of plain water (strength 0) is that
///         of pure water without CO2.
/// Source: pH by the ion pair CaOH+ (log K 1.22 at 25 degC, 21.4 kJ/mol; head of the same file) and
///         Davies' activity coefficients; within 0.02 of Bates, Bower & Smith 1956 at 0..40 degC.
///         Conductivity by a fit to the same file, within 0.25 %; other models and probes read up
///         to a quarter more, so a probe is calibrated on the site: site_factor().
[[nodiscard]] LimewaterProperties properties_of(const Limewater& limewater);

/// What a conductivity probe reads on this site over what limewater should have: from one reading
/// of freshly saturated limewater.
/// Valid:  1..40 degC and a factor of 0.7..1.5.   Errors: ChemistryFault outside.   Thread: any.
[[nodiscard]] Result<double> site_factor(MillisiemensPerCm saturated_reading, Celsius temperature);

/// Strength of limewater from its conductivity, uncompensated, divided by the site's factor. It may
/// come out above saturation; then the site's factor is due.
/// Valid:  1..40 degC, and a conductivity that gives 0..30 mmol/kg.   Thread: any.
/// Errors: ChemistryFault outside of that.   Source: as properties_of().
[[nodiscard]] Result<MmolPerKg> strength_from_conductivity(MillisiemensPerCm conductivity,
                                                           Celsius temperature,
                                                           double site_factor = 1.0);

}  // namespace limegate::chemistry
