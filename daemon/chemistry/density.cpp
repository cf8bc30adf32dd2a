#include "chemistry/density.h"

#include <cmath>

namespace limegate::chemistry {

KgPerLitre density_within_range(Salinity salinity, Celsius temperature) {
  const double s = salinity.count();
  const double t = temperature.count() * 1.00024;  // the fit is in IPTS-68 degrees
  const double pure =
      999.842594 +
      t * (6.793952e-2 +
           t * (-9.095290e-3 + t * (1.001685e-4 + t * (-1.120083e-6 + t * 6.536332e-9))));
  const double a =
      8.24493e-1 + t * (-4.0899e-3 + t * (7.6438e-5 + t * (-8.2467e-7 + t * 5.3875e-9)));
  const double b = -5.72466e-3 + t * (1.0227e-4 - t * 1.6546e-6);
  return KgPerLitre{(pure + s * (a + b * std::sqrt(s) + 4.8314e-4 * s)) / 1000.0};
}

Result<KgPerLitre> seawater_density(Salinity salinity, Celsius temperature) {
  if (!holds(kDensitySalinityRange, salinity.count())) {
    return outside(kDensitySalinityRange, salinity.count());
  }
  if (!holds(kDensityTemperatureRange, temperature.count())) {
    return outside(kDensityTemperatureRange, temperature.count());
  }
  return density_within_range(salinity, temperature);
}

Result<double> specific_gravity(Salinity salinity, Celsius temperature) {
  return seawater_density(salinity, temperature).map([&](KgPerLitre density) {
    return density / density_within_range(Salinity{0.0}, temperature);
  });
}

Result<Salinity> salinity_from_gravity(double gravity, Celsius temperature) {
  if (!holds(kDensityTemperatureRange, temperature.count())) {
    return outside(kDensityTemperatureRange, temperature.count());
  }
  const KgPerLitre pure = density_within_range(Salinity{0.0}, temperature);
  const auto gravity_at = [&](double s) {
    return density_within_range(Salinity{s}, temperature) / pure;
  };
  const ValidRange allowed{"specific gravity", "", 1.0, gravity_at(kDensitySalinityRange.highest),
                           kDensitySalinityRange.source};
  if (!holds(allowed, gravity)) {
    return outside(allowed, gravity);
  }
  // Gravity rises steadily with salinity, so halving always finds it; 50 halvings of 43 end below
  // the last bit of a double.
  double low = 0.0;
  double high = kDensitySalinityRange.highest;
  for (int halving = 0; halving < 50; ++halving) {
    const double middle = 0.5 * (low + high);
    (gravity_at(middle) < gravity ? low : high) = middle;
  }
  return Salinity{0.5 * (low + high)};
}

}  // namespace limegate::chemistry
