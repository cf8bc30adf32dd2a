#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "calculator/measure.h"
#include "units/quantities.h"

namespace limegate::calculator {

/// The water in which a conversion takes place, as far as it is known.
struct Surroundings {
  std::optional<Celsius> temperature;
  std::optional<Salinity> salinity;
};

struct Conversion {
  double value;
  std::string unit;  ///< as the calculator writes it
};

/// Converts a measure such as 8.2dKH to another unit of the same quantity: alkalinity, calcium,
/// salinity, volume, temperature or conductivity.
/// Errors: a sentence for an unknown unit (with the known ones), two units of different quantities,
///         ppm where alkalinity and calcium would differ,
///         a missing temperature or salinity, or a value outside of the range of its formula.
[[nodiscard]] Input<Conversion> convert(std::string_view measure, std::string_view to,
                                        const Surroundings& at);

/// All units, by quantity, for help and errors.
[[nodiscard]] std::string known_units();

}  // namespace limegate::calculator
