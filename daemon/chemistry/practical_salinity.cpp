#include "chemistry/practical_salinity.h"

#include <cmath>

namespace limegate::chemistry {
namespace {

constexpr double kStandardConductivity = 42.914;  // mS/cm at salinity 35, 15 degC (IPTS-68)

double in_ipts68(Celsius temperature) { return temperature.count() * 1.00024; }

/// r_t: how the conductivity of standard seawater changes with temperature.
double temperature_ratio(double t) {
  return 0.6766097 + t * (2.00564e-2 + t * (1.104259e-4 + t * (-6.9698e-7 + t * 1.0031e-9)));
}

/// Salinity from the square root of the conductivity ratio R_t at `t`.
double salinity_at(double root, double t) {
  const double at_15 =
      0.0080 +
      root * (-0.1692 + root * (25.3851 + root * (14.0941 + root * (-7.0261 + root * 2.7081))));
  const double shape =
      0.0005 +
      root * (-0.0056 + root * (-0.0066 + root * (-0.0375 + root * (0.0636 - root * 0.0144))));
  return at_15 + (t - 15.0) / (1.0 + 0.0162 * (t - 15.0)) * shape;
}

/// The root of R_t that gives a salinity. Salinity rises steadily with it, so halving always ends.
double root_for(double salinity, double t) {
  double low = 0.0;
  double high = 2.0;
  for (int halving = 0; halving < 52; ++halving) {
    const double middle = 0.5 * (low + high);
    (salinity_at(middle, t) < salinity ? low : high) = middle;
  }
  return 0.5 * (low + high);
}

double conductivity_at(double salinity, double t) {
  const double root = root_for(salinity, t);
  return kStandardConductivity * temperature_ratio(t) * root * root;
}

}  // namespace

Result<Salinity> salinity_from_conductivity(MillisiemensPerCm conductivity, Celsius temperature) {
  if (!holds(kConductivityTemperatureRange, temperature.count())) {
    return outside(kConductivityTemperatureRange, temperature.count());
  }
  const double t = in_ipts68(temperature);
  const double ratio = conductivity.count() / (kStandardConductivity * temperature_ratio(t));
  const double salinity = ratio >= 0.0 ? salinity_at(std::sqrt(ratio), t) : ratio;
  if (holds(kPracticalSalinityRange, salinity)) {
    return Salinity{salinity};
  }
  return outside({"conductivity", "mS/cm", conductivity_at(kPracticalSalinityRange.lowest, t),
                  conductivity_at(kPracticalSalinityRange.highest, t),
                  "PSS-78 (UNESCO 1981): salinity 2 to 42 at this temperature"},
                 conductivity.count());
}

Result<MillisiemensPerCm> conductivity_from_salinity(Salinity salinity, Celsius temperature) {
  if (!holds(kPracticalSalinityRange, salinity.count())) {
    return outside(kPracticalSalinityRange, salinity.count());
  }
  if (!holds(kConductivityTemperatureRange, temperature.count())) {
    return outside(kConductivityTemperatureRange, temperature.count());
  }
  return MillisiemensPerCm{conductivity_at(salinity.count(), in_ipts68(temperature))};
}

}  // namespace limegate::chemistry
