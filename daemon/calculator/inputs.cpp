#include "calculator/inputs.h"

#include "chemistry/density.h"
#include "chemistry/keeper_units.h"
#include "chemistry/practical_salinity.h"

namespace limegate::calculator {
namespace {

constexpr std::array kSalinityUnits{Unit{""},   Unit{"ppt"},   Unit{"psu"},
                                    Unit{"SG"}, Unit{"mS/cm"}, Unit{"uS/cm", 0.001}};
constexpr std::array kBare{Unit{""}};
constexpr std::array kMillivoltUnits{Unit{"mV"}, Unit{"V", 1000.0}};
constexpr std::array kPercentUnits{Unit{"%"}};
constexpr std::array kDoseUnits{Unit{"mL/L"}, Unit{"mL"}, Unit{"L"}, Unit{"gal"}};
// Of Ca(OH)2; one mol of it is two of alkalinity.
constexpr std::array kStrengthUnits{Unit{"mmol/kg"},
                                    Unit{"mmol/L"},
                                    Unit{"meq/L", 0.5},
                                    Unit{"meq/kg", 0.5},
                                    Unit{"ueq/L", 0.0005},
                                    Unit{"ueq/kg", 0.0005},
                                    Unit{"dKH", 10.0 / chemistry::kCaoGrams},
                                    Unit{"ppmCaCO3", 1.0 / chemistry::kCaco3Grams},
                                    Unit{"mg/LCaCO3", 1.0 / chemistry::kCaco3Grams}};

// Amounts of calcium per litre in mmol/L, amounts per kilogram in mmol/kg.
constexpr std::array kCalciumUnits{Unit{"mg/L", 1.0 / chemistry::kCaGrams},
                                   Unit{"ppm", 1.0 / chemistry::kCaGrams}, Unit{"mmol/L"},
                                   Unit{"umol/kg", 0.001}, Unit{"mmol/kg"}};
constexpr std::array kCarbonUnits{Unit{"umol/kg", 0.001}, Unit{"mmol/kg"}, Unit{"mmol/L"}};

Input<MicromolPerKg> parse_amount(std::string_view option, std::string_view text,
                                  KgPerLitre density, std::span<const Unit> known) {
  const auto measure = parse_measure(option, text);
  if (!measure) {
    return refuse(measure.error());
  }
  return unit_of(option, *measure, known).map([&](const Unit& unit) {
    const double amount = measure->value * unit.factor * 1000.0;
    return MicromolPerKg{unit.name.ends_with("/kg") ? amount : amount / density.count()};
  });
}

}  // namespace

Input<Celsius> parse_temperature(std::string_view option, std::string_view text) {
  return parse_in(option, text, kTemperatureUnits).map([](double c) { return Celsius{c}; });
}

Input<Litres> parse_volume(std::string_view option, std::string_view text) {
  return parse_in(option, text, kVolumeUnits).map([](double litres) { return Litres{litres}; });
}

Input<MillisiemensPerCm> parse_conductivity(std::string_view option, std::string_view text) {
  return parse_in(option, text, kConductivityUnits).map([](double c) {
    return MillisiemensPerCm{c};
  });
}

Input<Millivolts> parse_millivolts(std::string_view option, std::string_view text) {
  return parse_in(option, text, kMillivoltUnits).map([](double mv) { return Millivolts{mv}; });
}

Input<Percent> parse_percent(std::string_view option, std::string_view text) {
  return parse_in(option, text, kPercentUnits).map([](double share) { return Percent{share}; });
}

Input<double> parse_number(std::string_view option, std::string_view text) {
  return parse_in(option, text, kBare);
}

Input<Salinity> parse_salinity(std::string_view option, std::string_view text,
                               Celsius temperature) {
  const auto measure = parse_measure(option, text);
  if (!measure) {
    return refuse(measure.error());
  }
  const auto unit = unit_of(option, *measure, kSalinityUnits);
  if (!unit) {
    return refuse(unit.error());
  }
  if (unit->name == "SG") {
    return in_words(chemistry::salinity_from_gravity(measure->value, temperature));
  }
  if (unit->name.ends_with("S/cm")) {
    return in_words(chemistry::salinity_from_conductivity(
        MillisiemensPerCm{measure->value * unit->factor}, temperature));
  }
  return Salinity{measure->value};
}

Input<MicromolPerKg> parse_alkalinity(std::string_view option, std::string_view text,
                                      KgPerLitre density) {
  return parse_amount(option, text, density, kAlkalinityUnits);
}

Input<Dkh> parse_dkh(std::string_view option, std::string_view text) {
  constexpr KgPerLitre reef_water{1.0233};  // EOS-80 at salinity 35 and 25 °C
  const auto said = parse_alkalinity(option, text, reef_water);
  if (!said) {
    return refuse(said.error());
  }
  return chemistry::to_dkh(chemistry::to_meq_per_litre(*said, reef_water));
}

Input<MicromolPerKg> parse_calcium(std::string_view option, std::string_view text,
                                   KgPerLitre density) {
  return parse_amount(option, text, density, kCalciumUnits);
}

Input<MicromolPerKg> parse_carbon(std::string_view option, std::string_view text,
                                  KgPerLitre density) {
  return parse_amount(option, text, density, kCarbonUnits);
}

Input<chemistry::Limewater> parse_strength(std::string_view option, std::string_view text,
                                           Celsius temperature) {
  const auto measure = parse_measure(option, text);
  if (!measure) {
    return refuse(measure.error());
  }
  const auto unit = unit_of(option, *measure, kStrengthUnits);
  if (!unit) {
    return refuse(unit.error());
  }
  const double amount = measure->value * unit->factor;
  auto as_given = in_words(chemistry::limewater_of(MmolPerKg{amount}, temperature));
  if (!as_given || unit->name.ends_with("/kg")) {
    return as_given;
  }
  // Per litre: the density taken at the number itself is off by 3 parts in a million.
  return in_words(
      chemistry::limewater_of(MmolPerKg{amount / as_given->density.count()}, temperature));
}

Input<Millilitres> parse_dose(std::string_view option, std::string_view text, Litres tank) {
  const auto measure = parse_measure(option, text);
  if (!measure) {
    return refuse(measure.error());
  }
  return unit_of(option, *measure, kDoseUnits).and_then([&](const Unit& unit) {
    if (unit.name == "mL/L") {
      return Input<Millilitres>{tank.count() * Millilitres{measure->value}};
    }
    return parse_volume(option, text).map(to_millilitres);
  });
}

}  // namespace limegate::calculator
