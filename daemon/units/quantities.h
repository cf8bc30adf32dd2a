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
using Celsius = Point<struct CelsiusTag>;
using CelsiusChange = Celsius::Difference;

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
