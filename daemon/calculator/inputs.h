#pragma once

#include <array>
#include <string>
#include <string_view>

#include "calculator/measure.h"
#include "chemistry/keeper_units.h"
#include "chemistry/limewater.h"
#include "units/quantities.h"

/// What the commands read, each from a text with its unit. `option` is named in every error.
namespace limegate::calculator {

inline constexpr std::array kTemperatureUnits{Unit{"C"}, Unit{"F", 1.0 / 1.8, 32.0},
                                              Unit{"K", 1.0, 273.15}};
inline constexpr std::array kVolumeUnits{Unit{"L"}, Unit{"mL", 0.001}, Unit{"gal", 3.785411784}};
inline constexpr std::array kConductivityUnits{Unit{"mS/cm"}, Unit{"uS/cm", 0.001}};
/// Of alkalinity, wherever one is asked for: meq/L, or meq/kg where it ends so.
inline constexpr std::array kAlkalinityUnits{Unit{"dKH", 20.0 / chemistry::kCaoGrams},
                                             Unit{"meq/L"},
                                             Unit{"mmol/L"},
                                             Unit{"ppm", 2.0 / chemistry::kCaco3Grams},
                                             Unit{"ppmCaCO3", 2.0 / chemistry::kCaco3Grams},
                                             Unit{"mg/LCaCO3", 2.0 / chemistry::kCaco3Grams},
                                             Unit{"umol/L", 0.001},
                                             Unit{"ueq/L", 0.001},
                                             Unit{"umol/kg", 0.001},
                                             Unit{"ueq/kg", 0.001},
                                             Unit{"mmol/kg"},
                                             Unit{"meq/kg"}};

[[nodiscard]] Input<Celsius> parse_temperature(std::string_view option, std::string_view text);
[[nodiscard]] Input<Litres> parse_volume(std::string_view option, std::string_view text);
[[nodiscard]] Input<MillisiemensPerCm> parse_conductivity(std::string_view option,
                                                          std::string_view text);
[[nodiscard]] Input<Millivolts> parse_millivolts(std::string_view option, std::string_view text);
[[nodiscard]] Input<Percent> parse_percent(std::string_view option, std::string_view text);
/// A number without a unit, such as a pH.
[[nodiscard]] Input<double> parse_number(std::string_view option, std::string_view text);

/// Practical salinity: bare, ppt or psu; or from specific gravity (SG) or conductivity (mS/cm),
/// both as they are at the water's temperature.
[[nodiscard]] Input<Salinity> parse_salinity(std::string_view option, std::string_view text,
                                             Celsius temperature);

/// Alkalinity; what is per litre is turned into per kilogram by the water's density.
[[nodiscard]] Input<MicromolPerKg> parse_alkalinity(std::string_view option, std::string_view text,
                                                    KgPerLitre density);
/// Alkalinity of reef water (salinity 35, 25 °C) as a keeper says it.
[[nodiscard]] Input<Dkh> parse_dkh(std::string_view option, std::string_view text);
/// Calcium; as parse_alkalinity().
[[nodiscard]] Input<MicromolPerKg> parse_calcium(std::string_view option, std::string_view text,
                                                 KgPerLitre density);

/// Dissolved inorganic carbon; as parse_alkalinity().
[[nodiscard]] Input<MicromolPerKg> parse_carbon(std::string_view option, std::string_view text,
                                                KgPerLitre density);

/// Limewater from its strength: Ca(OH)2 in mmol/kg or mmol/L, or its alkalinity in any other unit
/// of that.
[[nodiscard]] Input<chemistry::Limewater> parse_strength(std::string_view option,
                                                         std::string_view text,
                                                         Celsius temperature);

/// A dose: mL/L of tank, or a volume; a volume needs that of the tank.
[[nodiscard]] Input<Millilitres> parse_dose(std::string_view option, std::string_view text,
                                            Litres tank);

}  // namespace limegate::calculator
