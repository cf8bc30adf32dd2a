#include "calculator/measure.h"

#include <algorithm>
#include <cctype>
#include <charconv>
#include <cmath>
#include <system_error>

#include <fmt/format.h>

#include "units/plain_number.h"

namespace limegate::calculator {
namespace {

std::string names_of(std::span<const Unit> known) {
  std::string names;
  for (const Unit& unit : known) {
    if (!names.empty()) {
      names += ", ";
    }
    names += unit.name.empty() ? "(none)" : unit.name;
  }
  return names;
}

std::string replaced(std::string_view text, std::string_view from, std::string_view to) {
  std::string result;
  for (auto at = text.find(from); at != std::string_view::npos; at = text.find(from)) {
    result += text.substr(0, at);
    result += to;
    text.remove_prefix(at + from.size());
  }
  result += text;
  return result;
}

}  // namespace

std::string plain(std::string_view unit) {
  std::string text = replaced(unit, "\u00b5", "u");  // micro sign
  text = replaced(text, "\u03bc", "u");              // Greek mu
  text = replaced(text, "\u00b0", "");               // degree sign
  text = replaced(text, " ", "");
  std::transform(text.begin(), text.end(), text.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return text;
}

Input<Measure> parse_measure(std::string_view option, std::string_view text) {
  std::string_view rest = text;
  while (!rest.empty() && rest.front() == ' ') {
    rest.remove_prefix(1);
  }
  if (rest.empty()) {
    return refuse(fmt::format("{} is missing its value", option));
  }
  if (rest.front() == '+') {
    rest.remove_prefix(1);
  }
  double value = 0.0;
  const auto [end, error] = std::from_chars(rest.data(), rest.data() + rest.size(), value);
  if (error != std::errc{} || !std::isfinite(value)) {
    return refuse(fmt::format("{} '{}' does not start with a number", option, text));
  }
  rest.remove_prefix(static_cast<std::size_t>(end - rest.data()));
  if (rest.size() > 1 && rest[0] == ',' && std::isdigit(static_cast<unsigned char>(rest[1])) != 0) {
    return refuse(fmt::format("{} '{}' has a comma in its number: decimals come behind a point, {}",
                              option, text, replaced(text, ",", ".")));
  }
  return Measure{value, plain(rest)};
}

Input<Unit> unit_of(std::string_view option, const Measure& measure, std::span<const Unit> known) {
  for (const Unit& unit : known) {
    if (plain(unit.name) == measure.unit) {
      return unit;
    }
  }
  if (measure.unit.empty()) {
    return refuse(fmt::format("{} {} has no unit; known units: {}", option,
                              plain_number(measure.value, 6), names_of(known)));
  }
  return refuse(fmt::format("{} {}{} has an unknown unit; known units: {}", option,
                            plain_number(measure.value, 6), measure.unit, names_of(known)));
}

Input<double> parse_in(std::string_view option, std::string_view text,
                       std::span<const Unit> known) {
  const auto measure = parse_measure(option, text);
  if (!measure) {
    return refuse(measure.error());
  }
  return unit_of(option, *measure, known).map([&](const Unit& unit) {
    return (measure->value - unit.zero) * unit.factor;
  });
}

std::string sentence(const chemistry::ChemistryFault& fault) {
  const chemistry::ValidRange& range = fault.allowed;
  const std::string unit = range.unit.empty() ? "" : fmt::format(" {}", range.unit);
  return fmt::format("{} {}{} is outside the allowed range {} to {}{} (source: {})", range.quantity,
                     plain_number(fault.value, 6), unit, plain_number(range.lowest, 6),
                     plain_number(range.highest, 6), unit, range.source);
}

}  // namespace limegate::calculator
