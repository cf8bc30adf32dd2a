#include "chemistry/limewater.h"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <numbers>

#include "chemistry/density.h"
#include "chemistry/keeper_units.h"

namespace limegate::chemistry {
namespace {

constexpr double kLn10 = std::numbers::ln10;
constexpr double kHydroxideGrams = 74.0927;  // g/mol of Ca(OH)2

/// What published series differ by from ours at most, %, rounded up: every column of
/// tests/data/limewater_strength.csv but the two that its head calls wrong and flat.
struct Spread {
  double temperature, percent;
};
constexpr Spread kSpread[] = {{1, 15.25},  {5, 12.63}, {10, 12.43}, {15, 11.94}, {20, 11.71},
                              {25, 10.38}, {30, 9.16}, {35, 5.86},  {40, 5.50}};

// Conductivity k = a m / (1 + b sqrt(m)), the shape of Kohlrausch's law, fitted to the columns
// SC_fix_uS and SC_fixcomp_uS of tests/data/limewater_strength.csv. m in mmol/kg, k in mS/cm.
double conductivity_fit(double m, double celsius) {
  const double d = celsius - 25.0;
  const double a = 0.51821 + d * (0.00926741 + d * 3.596e-6);
  const double b = 0.067546 + d * (0.0007901 + d * 3.858e-6);
  return a * m / (1.0 + b * std::sqrt(m));
}

// Millero 1995 at salinity 0: the ion product of pure water, -log10.
double water_pk(double kelvin) {
  return -(148.9802 - 13847.26 / kelvin - 23.6521 * std::log(kelvin)) / kLn10;
}

// Debye and Hueckel's limiting slope, from the permittivity of water (Malmberg & Maryott 1956).
double limiting_slope(double celsius) {
  const double permittivity =
      87.740 + celsius * (-0.40008 + celsius * (9.398e-4 - celsius * 1.410e-6));
  const double product = permittivity * (celsius + 273.15);
  return 1.8246e6 / (product * std::sqrt(product));
}

// -log10 of the activity of H+ in `m` mol of Ca(OH)2 per kilogram of water.
double ph_of_solution(double m, double celsius) {
  const double kelvin = celsius + 273.15;
  const double pair =  // Ca++ + OH- = CaOH+
      std::pow(10.0, 1.22 - 21400.0 / (kLn10 * 8.314462618) * (1.0 / kelvin - 1.0 / 298.15));
  const double pure_hydroxide = std::pow(10.0, -0.5 * water_pk(kelvin));
  const double slope = limiting_slope(celsius);
  double ionic = 3.0 * m;
  double hydroxide = 2.0 * m;
  double log_activity = 0.0;
  // Ionic strength and pairing settle each other; each round shrinks the rest about tenfold.
  for (int round = 0; round < 15; ++round) {
    const double root = std::sqrt(ionic);
    const double single = -slope * (root / (1.0 + root) - 0.3 * ionic);  // Davies
    const double q = pair * std::pow(10.0, 4.0 * single);
    const double half = 0.5 * (1.0 + q * m);
    const double calcium = m / (half + std::sqrt(half * half + q * m));
    hydroxide = m + calcium;
    ionic = 0.5 * (4.0 * calcium + (m - calcium) + hydroxide);
    log_activity = single;
  }
  // Pure water's own hydroxide counts only where there is next to no lime.
  const double total = 0.5 * hydroxide + std::hypot(0.5 * hydroxide, pure_hydroxide);
  return water_pk(kelvin) + std::log10(total) + log_activity;
}

}  // namespace

Result<MmolPerKg> saturated_strength(Celsius reactor) {
  if (!holds(kReactorTemperatureRange, reactor.count())) {
    return outside(kReactorTemperatureRange, reactor.count());
  }
  const double d = reactor.count() - 25.0;
  return MmolPerKg{20.3249 + d * (-0.111805 + d * (-6.23026e-4 + d * 1.548078e-5))};
}

Result<Percent> strength_spread(Celsius reactor) {
  if (!holds(kReactorTemperatureRange, reactor.count())) {
    return outside(kReactorTemperatureRange, reactor.count());
  }
  const auto above = std::find_if(std::begin(kSpread), std::end(kSpread), [&](const Spread& at) {
    return at.temperature >= reactor.count();
  });
  if (above == std::begin(kSpread)) {
    return Percent{above->percent};
  }
  const Spread& below = *std::prev(above);
  const double part =
      (reactor.count() - below.temperature) / (above->temperature - below.temperature);
  return Percent{std::lerp(below.percent, above->percent, part)};
}

Result<Limewater> limewater_of(MmolPerKg strength, Celsius temperature) {
  if (!holds(kStrengthRange, strength.count())) {
    return outside(kStrengthRange, strength.count());
  }
  if (!holds(kReactorTemperatureRange, temperature.count())) {
    return outside(kReactorTemperatureRange, temperature.count());
  }
  const double per_mmol = 9.483e-5 - 2.218e-7 * (temperature.count() - 25.0);  // kg/L
  const KgPerLitre pure = density_within_range(Salinity{0.0}, temperature);
  return Limewater{strength, temperature, pure + KgPerLitre{per_mmol * strength.count()}};
}

Result<Limewater> saturated_limewater(Celsius reactor) {
  return saturated_strength(reactor).and_then(
      [&](MmolPerKg strength) { return limewater_of(strength, reactor); });
}

Result<Limewater> spoiled(const Limewater& fresh, Percent share) {
  if (!holds(kSpoiledRange, share.count())) {
    return outside(kSpoiledRange, share.count());
  }
  return limewater_of(fresh.strength * (1.0 - share.count() / 100.0), fresh.temperature);
}

double powder_grams(const Limewater& limewater, Millilitres volume) {
  return limewater.strength.count() / 1000.0 * limewater.density.count() * volume.count() / 1000.0 *
         kHydroxideGrams;
}

LimewaterProperties properties_of(const Limewater& limewater) {
  const double mmol_per_litre = limewater.strength.count() * limewater.density.count();
  const double per_kg_water =
      limewater.strength.count() / (1.0 - limewater.strength.count() * kHydroxideGrams * 1e-6);
  return {MeqPerLitre{2.0 * mmol_per_litre}, MgPerLitre{kCaGrams * mmol_per_litre},
          Ph{ph_of_solution(per_kg_water * 1e-3, limewater.temperature.count())},
          MillisiemensPerCm{
              conductivity_fit(limewater.strength.count(), limewater.temperature.count())}};
}

Result<double> site_factor(MillisiemensPerCm saturated_reading, Celsius temperature) {
  return saturated_strength(temperature).and_then([&](MmolPerKg strength) -> Result<double> {
    const double factor =
        saturated_reading.count() / conductivity_fit(strength.count(), temperature.count());
    if (!holds(kSiteFactorRange, factor)) {
      return outside(kSiteFactorRange, factor);
    }
    return factor;
  });
}

Result<MmolPerKg> strength_from_conductivity(MillisiemensPerCm conductivity, Celsius temperature,
                                             double site_factor) {
  if (!holds(kReactorTemperatureRange, temperature.count())) {
    return outside(kReactorTemperatureRange, temperature.count());
  }
  if (!holds(kSiteFactorRange, site_factor)) {
    return outside(kSiteFactorRange, site_factor);
  }
  const double celsius = temperature.count();
  const ValidRange allowed{"conductivity of limewater", "mS/cm", 0.0,
                           site_factor * conductivity_fit(kStrengthRange.highest, celsius),
                           kStrengthRange.source};
  if (!holds(allowed, conductivity.count())) {
    return outside(allowed, conductivity.count());
  }
  // The fit rises steadily with strength, so halving always finds it.
  double low = 0.0;
  double high = kStrengthRange.highest;
  for (int halving = 0; halving < 52; ++halving) {
    const double middle = 0.5 * (low + high);
    const bool below = site_factor * conductivity_fit(middle, celsius) < conductivity.count();
    (below ? low : high) = middle;
  }
  return MmolPerKg{0.5 * (low + high)};
}

}  // namespace limegate::chemistry
