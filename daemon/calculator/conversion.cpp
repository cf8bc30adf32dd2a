#include "calculator/conversion.h"

#include <array>
#include <cmath>
#include <optional>
#include <span>
#include <utility>

#include <fmt/format.h>

#include "calculator/inputs.h"
#include "chemistry/density.h"
#include "chemistry/keeper_units.h"
#include "chemistry/practical_salinity.h"
#include "units/plain_number.h"

namespace limegate::calculator {
namespace {

// Canonical units: meq/L, mg/L of calcium, practical salinity, L, C. A unit per kilogram is turned
// into its own per-litre unit by the density of the water; salinity's SG and mS/cm have formulas.
constexpr double kMgPerMmol = chemistry::kCaGrams;
constexpr std::array kCalcium{Unit{"mg/L"},
                              Unit{"ppm"},
                              Unit{"mg/LCa"},
                              Unit{"mmol/L", kMgPerMmol},
                              Unit{"umol/kg", kMgPerMmol / 1000.0},
                              Unit{"mmol/kg", kMgPerMmol}};
constexpr std::array kSalinity{Unit{"salinity"}, Unit{"ppt"},   Unit{"psu"},
                               Unit{"SG"},       Unit{"mS/cm"}, Unit{"uS/cm", 0.001}};

struct Family {
  std::string_view name;
  std::span<const Unit> units;
  double lowest;   ///< that can be, in the canonical unit
  double highest;  ///< the same: this program, far past anything that is measured or poured
};
// Conductivity stands before salinity: mS/cm to uS/cm needs no temperature.
constexpr std::array kFamilies{Family{"alkalinity", kAlkalinityUnits, 0.0, 1e5},
                               Family{"calcium", kCalcium, 0.0, 1e6},
                               Family{"conductivity", kConductivityUnits, 0.0, 1e5},
                               Family{"salinity", kSalinity, 0.0, 1e5},
                               Family{"volume", kVolumeUnits, 0.0, 1e9},
                               Family{"temperature", kTemperatureUnits, -273.15, 1e4}};

const Unit* find(const Family& family, const std::string& plain_name) {
  for (const Unit& unit : family.units) {
    if (plain(unit.name) == plain_name) {
      return &unit;
    }
  }
  return nullptr;
}

/// How a unit is written and what it measures; nothing for an unknown one.
std::optional<std::pair<std::string_view, std::string_view>> described(
    const std::string& plain_name) {
  for (const Family& family : kFamilies) {
    if (const Unit* unit = find(family, plain_name)) {
      return std::pair{unit->name, family.name};
    }
  }
  return std::nullopt;
}

Input<Celsius> temperature_for(const Unit& unit, const Surroundings& at) {
  if (at.temperature) {
    return *at.temperature;
  }
  return refuse(fmt::format("{} needs the water's --temperature, for example 25C", unit.name));
}

/// Litres of water in the unit's own measure: one, or for a unit per kilogram its density.
Input<double> kg_per_unit(const Unit& unit, const Surroundings& at) {
  if (!unit.name.ends_with("/kg")) {
    return 1.0;
  }
  if (!at.temperature || !at.salinity) {
    return refuse(
        fmt::format("{} needs the water's --salinity and --temperature for its density, "
                    "for example --salinity 35 --temperature 25C",
                    unit.name));
  }
  return in_words(chemistry::seawater_density(*at.salinity, *at.temperature))
      .map([](KgPerLitre density) { return density.count(); });
}

bool is_conductivity(const Unit& unit) { return unit.name.ends_with("S/cm"); }

Input<double> to_salinity(double value, const Unit& unit, const Surroundings& at) {
  if (unit.name != "SG" && !is_conductivity(unit)) {
    return value;
  }
  const auto temperature = temperature_for(unit, at);
  if (!temperature) {
    return refuse(temperature.error());
  }
  const auto salinity = unit.name == "SG"
                            ? chemistry::salinity_from_gravity(value, *temperature)
                            : chemistry::salinity_from_conductivity(
                                  MillisiemensPerCm{value * unit.factor}, *temperature);
  return in_words(salinity).map([](Salinity s) { return s.count(); });
}

Input<double> from_salinity(double salinity, const Unit& unit, const Surroundings& at) {
  if (unit.name != "SG" && !is_conductivity(unit)) {
    return salinity;
  }
  const auto temperature = temperature_for(unit, at);
  if (!temperature) {
    return refuse(temperature.error());
  }
  if (unit.name == "SG") {
    return in_words(chemistry::specific_gravity(Salinity{salinity}, *temperature));
  }
  return in_words(chemistry::conductivity_from_salinity(Salinity{salinity}, *temperature))
      .map([&](MillisiemensPerCm conductivity) { return conductivity.count() / unit.factor; });
}

Input<double> convert_within(const Family& family, double value, const Unit& from, const Unit& to,
                             const Surroundings& at) {
  const double least = (family.lowest / from.factor) + from.zero;
  if (!(value >= least)) {
    return refuse(fmt::format("{} {} {} cannot be: the lowest possible is {} {}", family.name,
                              plain_number(value, 6), from.name, plain_number(least, 6),
                              from.name));
  }
  const double most = (family.highest / from.factor) + from.zero;
  if (!(value <= most)) {
    return refuse(fmt::format("{} {} {} cannot be: the highest that is taken is {} {}", family.name,
                              plain_number(value, 6), from.name, plain_number(most, 6), from.name));
  }
  if (family.name == "salinity") {
    return to_salinity(value, from, at).and_then([&](double s) {
      return from_salinity(s, to, at);
    });
  }
  const auto density_from = kg_per_unit(from, at);
  if (!density_from) {
    return refuse(density_from.error());
  }
  const auto density_to = kg_per_unit(to, at);
  if (!density_to) {
    return refuse(density_to.error());
  }
  const double canonical = (value - from.zero) * from.factor * *density_from;
  return canonical / (to.factor * *density_to) + to.zero;
}

bool same(double a, double b) { return std::fabs(a - b) <= 1e-9 * std::fabs(a); }

/// Why no quantity has both units.
std::string why_not(const std::string& from, const std::string& to) {
  if (from.empty()) {
    return fmt::format("the value has no unit; known units: {}", known_units());
  }
  const auto from_found = described(from);
  const auto to_found = described(to);
  if (!from_found || !to_found) {
    return fmt::format("unknown unit '{}'; known units: {}", from_found ? to : from, known_units());
  }
  return fmt::format("{} is a unit of {} and {} of {}: one is not the other", from_found->first,
                     from_found->second, to_found->first, to_found->second);
}

}  // namespace

std::string known_units() {
  std::string text;
  for (const Family& family : kFamilies) {
    text += fmt::format("{}{}: ", text.empty() ? "" : "; ", family.name);
    for (const Unit& unit : family.units) {
      text += fmt::format("{}{}", &unit == family.units.data() ? "" : " ", unit.name);
    }
  }
  return text;
}

Input<Conversion> convert(std::string_view measure, std::string_view to, const Surroundings& at) {
  const auto given = parse_measure("the value", measure);
  if (!given) {
    return refuse(given.error());
  }
  const std::string wanted = plain(to);
  std::optional<Input<Conversion>> answer;
  for (const Family& family : kFamilies) {
    const Unit* from_unit = find(family, given->unit);
    const Unit* to_unit = find(family, wanted);
    if (from_unit == nullptr || to_unit == nullptr) {
      continue;
    }
    const auto value = convert_within(family, given->value, *from_unit, *to_unit, at);
    if (!answer) {
      answer = value.map([&](double v) { return Conversion{v, std::string{to_unit->name}}; });
    } else if (*answer && value && !same((*answer)->value, *value)) {
      // 1 ppm of CaCO3 is 0.02 mmol/L of alkalinity, 1 ppm of calcium 0.025 mmol/L.
      return refuse(fmt::format("{} to {} can mean alkalinity or calcium: write ppmCaCO3, or mg/L",
                                from_unit->name, to_unit->name));
    }
  }
  return answer ? *answer : refuse(why_not(given->unit, wanted));
}

}  // namespace limegate::calculator
