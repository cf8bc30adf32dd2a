#include "chemistry/brucite.h"

#include <cmath>
#include <numbers>

namespace limegate::chemistry {
namespace {

constexpr double kMagnesiumAt35 = 0.05282;  // mol/kg
constexpr double kActivity = 0.24;
constexpr double kLogK = 16.84;        // at 25 degC
constexpr double kEnthalpy = -114000;  // J/mol
constexpr double kGas = 8.314462618;   // J/(mol K), CODATA 2018
constexpr double kZeroCelsius = 273.15;

}  // namespace

double omega_brucite(const SeawaterConstants& constants, Ph ph) {
  const double magnesium = kMagnesiumAt35 / 35.0 * constants.salinity.count() * kActivity;
  // van 't Hoff
  const double colder =
      1.0 / (constants.temperature.count() + kZeroCelsius) - 1.0 / (25.0 + kZeroCelsius);
  const double log_k = kLogK - kEnthalpy / (std::numbers::ln10 * kGas) * colder;
  return magnesium * std::pow(10.0, 2.0 * ph.count() - log_k);
}

}  // namespace limegate::chemistry
