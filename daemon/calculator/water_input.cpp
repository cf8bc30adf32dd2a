#include "calculator/water_input.h"

#include <CLI/CLI.hpp>
#include <fmt/format.h>

#include "calculator/inputs.h"
#include "chemistry/density.h"

namespace limegate::calculator {
namespace {

using chemistry::BoronSource;
using chemistry::CarbonateState;
using chemistry::SeawaterConstants;

constexpr std::string_view kScales =
    "total, nbs (what a probe calibrated in ordinary buffers reads), free, sws";

Input<std::string> needed(std::string_view option, const std::string& text,
                          std::string_view example) {
  if (!text.empty()) {
    return text;
  }
  return refuse(fmt::format("{} is missing; for example {} {}", option, option, example));
}

Input<BoronSource> parse_boron(const std::string& word) {
  if (word == "uppstroem") {
    return BoronSource::uppstroem_1974;
  }
  if (word == "lee") {
    return BoronSource::lee_2010;
  }
  return refuse(fmt::format(
      "--boron {} is not known; known: uppstroem (Uppström 1974), lee (Lee et al. 2010)", word));
}

/// The pH on the total scale. A pH never comes without its scale: they differ by 0.14.
Input<PhTotal> parse_ph(const WaterOptions& options, const SeawaterConstants& constants) {
  const auto value = parse_number("--ph", options.ph);
  if (!value) {
    return refuse(value.error());
  }
  const std::string scale = plain(options.scale);
  if (scale == "total") {
    return PhTotal{*value};
  }
  if (scale == "nbs") {
    return to_total(constants, Ph{*value});
  }
  if (scale == "free") {
    return to_total(constants, PhFree{*value});
  }
  if (scale == "sws") {
    return to_total(constants, PhSeawater{*value});
  }
  if (scale.empty()) {
    return refuse(fmt::format("--ph {} needs its --scale; scales: {}", options.ph, kScales));
  }
  return refuse(fmt::format("--scale {} is not known; scales: {}", options.scale, kScales));
}

Input<SeawaterConstants> constants_of(const WaterOptions& options, BoronSource boron) {
  const auto temperature_text = needed("--temperature", options.temperature, "25C");
  if (!temperature_text) {
    return refuse(temperature_text.error());
  }
  const auto temperature = parse_temperature("--temperature", *temperature_text);
  if (!temperature) {
    return refuse(temperature.error());
  }
  const auto salinity_text = needed("--salinity", options.salinity, "35");
  if (!salinity_text) {
    return refuse(salinity_text.error());
  }
  const auto salinity = parse_salinity("--salinity", *salinity_text, *temperature);
  if (!salinity) {
    return refuse(salinity.error());
  }
  auto constants = in_words(chemistry::seawater_constants(*salinity, *temperature, boron));
  if (!constants || options.calcium.empty()) {
    return constants;
  }
  const auto calcium = parse_calcium("--calcium", options.calcium, constants->density);
  if (!calcium) {
    return refuse(calcium.error());
  }
  return in_words(chemistry::with_calcium(*constants, *calcium));
}

Input<CarbonateState> state_of(const WaterOptions& options, const SeawaterConstants& constants) {
  const auto text = needed("--alkalinity", options.alkalinity, "8.2dKH");
  if (!text) {
    return refuse(text.error());
  }
  const auto alkalinity = parse_alkalinity("--alkalinity", *text, constants.density);
  if (!alkalinity) {
    return refuse(alkalinity.error());
  }
  if (options.ph.empty() == options.dissolved_carbon.empty()) {
    return refuse(
        "give either --ph with its --scale, or --dic; for example --ph 8.1 --scale total");
  }
  if (!options.dissolved_carbon.empty()) {
    const auto carbon = parse_carbon("--dic", options.dissolved_carbon, constants.density);
    if (!carbon) {
      return refuse(carbon.error());
    }
    return in_words(chemistry::solve_from_carbon(constants, *alkalinity, *carbon));
  }
  const auto ph = parse_ph(options, constants);
  if (!ph) {
    return refuse(ph.error());
  }
  const auto state = chemistry::solve_from_ph(constants, *alkalinity, *ph);
  if (state) {
    return *state;
  }
  const bool about_ph = state.error().allowed.quantity == chemistry::kPhTotalRange.quantity;
  return refuse(
      sentence(state.error()) +
      (about_ph ? fmt::format("; given was pH {} on the {} scale", options.ph, plain(options.scale))
                : ""));
}

}  // namespace

void add_water_options(CLI::App& command, WaterOptions& options) {
  command.add_option("--salinity", options.salinity,
                     "salinity: 35, 35ppt, 1.0264SG or 53.1mS/cm (at the water's temperature)");
  command.add_option("--temperature", options.temperature, "temperature of the water: 25C or 77F");
  command.add_option("--alkalinity", options.alkalinity,
                     "alkalinity: 8.2dKH, 2.92meq/L, 146ppm (as CaCO3) or 2300umol/kg");
  command.add_option("--ph", options.ph, "pH, on the scale of --scale");
  command.add_option("--scale", options.scale, fmt::format("scale of the pH: {}", kScales));
  command.add_option("--dic", options.dissolved_carbon,
                     "dissolved inorganic carbon instead of pH: 2000umol/kg or 2.05mmol/L");
  command.add_option("--calcium", options.calcium,
                     "measured calcium: 420mg/L or 10300umol/kg; otherwise it follows salinity");
  command.add_option("--boron", options.boron,
                     "boron of seawater: uppstroem (1974, as usual) or lee (2010, 4 % more)");
}

Input<SolvedWater> solve(const WaterOptions& options) {
  const auto boron = parse_boron(options.boron);
  if (!boron) {
    return refuse(boron.error());
  }
  const auto constants = constants_of(options, *boron);
  if (!constants) {
    return refuse(constants.error());
  }
  return state_of(options, *constants).map([&](const CarbonateState& state) {
    return SolvedWater{*boron, *constants, state};
  });
}

}  // namespace limegate::calculator
