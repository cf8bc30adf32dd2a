#pragma once

#include "units/quantities.h"

/// The units keepers speak, as named conversions. None has an error; NaN stays NaN. Any thread.
namespace limegate::chemistry {

inline constexpr double kCaoGrams = 56.0774;          ///< g/mol (IUPAC): 1 dKH is 10 mg/L of CaO
inline constexpr double kCaco3Grams = 100.0869;       ///< g/mol (IUPAC)
inline constexpr double kCaGrams = 40.078;            ///< g/mol (IUPAC)
inline constexpr double kGallonLitres = 3.785411784;  ///< US liquid gallon, exact

[[nodiscard]] constexpr MeqPerLitre to_meq_per_litre(Dkh alkalinity) {
  return MeqPerLitre{alkalinity.count() * 20.0 / kCaoGrams};
}
[[nodiscard]] constexpr Dkh to_dkh(MeqPerLitre alkalinity) {
  return Dkh{alkalinity.count() * kCaoGrams / 20.0};
}
[[nodiscard]] constexpr MeqPerLitre to_meq_per_litre(PpmCaco3 alkalinity) {
  return MeqPerLitre{alkalinity.count() * 2.0 / kCaco3Grams};
}
[[nodiscard]] constexpr PpmCaco3 to_ppm_caco3(MeqPerLitre alkalinity) {
  return PpmCaco3{alkalinity.count() * kCaco3Grams / 2.0};
}
[[nodiscard]] constexpr MicromolPerKg to_micromol_per_kg(MeqPerLitre alkalinity,
                                                         KgPerLitre density) {
  return MicromolPerKg{alkalinity.count() * 1000.0 / density.count()};
}
[[nodiscard]] constexpr MeqPerLitre to_meq_per_litre(MicromolPerKg alkalinity, KgPerLitre density) {
  return MeqPerLitre{alkalinity.count() * density.count() / 1000.0};
}
/// Calcium by mass per litre, as a hand test gives it, to amount per kilogram.
[[nodiscard]] constexpr MicromolPerKg to_micromol_per_kg(MgPerLitre calcium, KgPerLitre density) {
  return MicromolPerKg{calcium.count() / kCaGrams * 1000.0 / density.count()};
}
[[nodiscard]] constexpr MgPerLitre to_mg_per_litre(MicromolPerKg calcium, KgPerLitre density) {
  return MgPerLitre{calcium.count() * kCaGrams / 1000.0 * density.count()};
}
[[nodiscard]] constexpr Litres litres_from_gallons(double gallons) {
  return Litres{gallons * kGallonLitres};
}
[[nodiscard]] constexpr double to_gallons(Litres volume) { return volume.count() / kGallonLitres; }
[[nodiscard]] constexpr Celsius celsius_from_fahrenheit(double fahrenheit) {
  return Celsius{(fahrenheit - 32.0) / 1.8};
}
[[nodiscard]] constexpr double to_fahrenheit(Celsius temperature) {
  return temperature.count() * 1.8 + 32.0;
}

}  // namespace limegate::chemistry
