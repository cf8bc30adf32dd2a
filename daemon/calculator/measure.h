#pragma once

#include <span>
#include <string>
#include <string_view>

#include <tl/expected.hpp>

#include "chemistry/valid_range.h"

namespace limegate::calculator {

/// A value read from the command line, or the sentence that tells the keeper what is wrong with it.
template <class T>
using Input = tl::expected<T, std::string>;

[[nodiscard]] inline tl::unexpected<std::string> refuse(std::string sentence) {
  return tl::unexpected<std::string>{std::move(sentence)};
}

/// A number with its unit as written, such as 8.2dKH.
struct Measure {
  double value;
  std::string unit;  ///< in plain form: plain()
};

/// A unit in the form that units are compared in: lower case, no blanks, no degree sign, u for the
/// Greek mu. So `µmol/kg`, `umol/kg` and ` Umol/Kg` are the same unit.
[[nodiscard]] std::string plain(std::string_view unit);

/// Reads a number and what follows it.
/// Errors: nothing given, no number, a decimal comma, or a number that is not finite; names
///         `option`.
[[nodiscard]] Input<Measure> parse_measure(std::string_view option, std::string_view text);

/// A unit and how to leave it: value in the canonical unit = (value - zero) * factor.
struct Unit {
  std::string_view name;  ///< as it is shown
  double factor = 1.0;
  double zero = 0.0;
};

/// The unit of a measure among those known; an empty name stands for "no unit".
/// Errors: unknown or missing unit; the sentence lists the known ones.
[[nodiscard]] Input<Unit> unit_of(std::string_view option, const Measure& measure,
                                  std::span<const Unit> known);

/// Reads a measure in one of the known units, in the canonical unit.
/// Errors: those of parse_measure() and unit_of().
[[nodiscard]] Input<double> parse_in(std::string_view option, std::string_view text,
                                     std::span<const Unit> known);

/// The sentence for a value outside of its range: value, allowed range, source of the range.
[[nodiscard]] std::string sentence(const chemistry::ChemistryFault& fault);

/// The value, or the sentence.
template <class T>
[[nodiscard]] Input<T> in_words(const chemistry::Result<T>& result) {
  if (!result) {
    return refuse(sentence(result.error()));
  }
  return *result;
}

}  // namespace limegate::calculator
