#pragma once

#include "units/quantity.h"

namespace limegate {

using Millilitres = Quantity<struct MillilitresTag>;
using Litres = Quantity<struct LitresTag>;
using MillilitresPerMinute = Quantity<struct MillilitresPerMinuteTag>;
using Millimetres = Quantity<struct MillimetresTag>;
using MillimetresPerHour = Quantity<struct MillimetresPerHourTag>;
using Ph = Point<struct PhTag>;  ///< on the probe's own (NBS/IUPAC) scale unless said otherwise
using PhChange = Ph::Difference;
using PhTotal = Point<struct PhTotalTag>;        ///< total scale: -log10 of [H+] + [HSO4-], mol/kg
using PhSeawater = Point<struct PhSeawaterTag>;  ///< seawater scale: the total scale's plus [HF]
using PhFree = Point<struct PhFreeTag>;          ///< free scale: -log10 of [H+] alone, mol/kg
using PhTotalChange = PhTotal::Difference;
using Celsius = Point<struct CelsiusTag>;
using CelsiusChange = Celsius::Difference;
using Salinity = Point<struct SalinityTag>;  ///< practical salinity (PSS-78), what keepers call ppt
using Kilograms = Quantity<struct KilogramsTag>;
using KgPerLitre = Quantity<struct KgPerLitreTag>;
using MicromolPerKg = Quantity<struct MicromolPerKgTag>;  ///< per kilogram of solution
using MmolPerKg = Quantity<struct MmolPerKgTag>;          ///< per kilogram of solution
using MeqPerLitre = Quantity<struct MeqPerLitreTag>;      ///< alkalinity; mmol/L of charge
using Dkh = Quantity<struct DkhTag>;                      ///< alkalinity in German degrees
using PpmCaco3 = Quantity<struct PpmCaco3Tag>;            ///< alkalinity as mg/L of CaCO3
using MgPerLitre = Quantity<struct MgPerLitreTag>;
using Microatmospheres = Quantity<struct MicroatmospheresTag>;
using MillisiemensPerCm = Quantity<struct MillisiemensPerCmTag>;
using Millivolts = Quantity<struct MillivoltsTag>;
using Percent = Quantity<struct PercentTag>;

/// More than any tank's allowance: what counts for a day whose record is missing or damaged.
constexpr Millilitres kCountsAsFull{1e9};

/// Litres of tank water as millilitres, for arithmetic with doses.
[[nodiscard]] constexpr Millilitres to_millilitres(Litres volume) {
  return Millilitres{volume.count() * 1000.0};
}

namespace literals {
constexpr Millilitres operator""_mL(long double v) { return Millilitres{static_cast<double>(v)}; }
constexpr Litres operator""_L(long double v) { return Litres{static_cast<double>(v)}; }
constexpr Ph operator""_pH(long double v) { return Ph{static_cast<double>(v)}; }
constexpr Celsius operator""_degC(long double v) { return Celsius{static_cast<double>(v)}; }
}  // namespace literals

}  // namespace limegate
