#include <memory>

#include <CLI/CLI.hpp>
#include <fmt/format.h>

#include "calculator/inputs.h"
#include "calculator/report.h"
#include "calculator/subcommands.h"
#include "chemistry/limewater.h"

namespace limegate::calculator {
namespace {

using chemistry::Limewater;

struct Options {
  std::string temperature;
  std::string conductivity;
  std::string saturated_reading;
  std::string spoiled;
  bool json = false;
};

/// Limewater by its conductivity, the probe calibrated by a reading of saturated limewater if
/// given.
Input<Limewater> measured(const Options& options, Celsius temperature) {
  double factor = 1.0;
  if (!options.saturated_reading.empty()) {
    const auto reading = parse_conductivity("--saturated-reading", options.saturated_reading);
    if (!reading) {
      return refuse(reading.error());
    }
    const auto site = in_words(chemistry::site_factor(*reading, temperature));
    if (!site) {
      return refuse(site.error());
    }
    factor = *site;
  }
  const auto conductivity = parse_conductivity("--conductivity", options.conductivity);
  if (!conductivity) {
    return refuse(conductivity.error());
  }
  return in_words(chemistry::strength_from_conductivity(*conductivity, temperature, factor)
                      .and_then([&](MmolPerKg strength) {
                        return chemistry::limewater_of(strength, temperature);
                      }));
}

Input<Limewater> limewater_of(const Options& options, Celsius temperature) {
  if (!options.conductivity.empty()) {
    if (!options.spoiled.empty()) {
      return refuse("--spoiled makes no sense with --conductivity, which measures what is left");
    }
    return measured(options, temperature);
  }
  if (!options.saturated_reading.empty()) {
    return refuse("--saturated-reading needs --conductivity, the reading to be judged by it");
  }
  auto fresh = in_words(chemistry::saturated_limewater(temperature));
  if (!fresh || options.spoiled.empty()) {
    return fresh;
  }
  const auto share = parse_percent("--spoiled", options.spoiled);
  if (!share) {
    return refuse(share.error());
  }
  return in_words(chemistry::spoiled(*fresh, *share));
}

/// More than can dissolve is a mistake of the measurement, beyond what the handbooks differ by.
std::string remark_on(double saturation, Percent spread) {
  if (saturation > 100.0 + spread.count()) {
    return "More than can dissolve: the probe wants its --saturated-reading, the water was not "
           "pure, or it is milk. Do not reckon with this strength.";
  }
  return saturation > 100.5 ? "More than ours, within what the handbooks differ by." : "";
}

int run(const Options& options) {
  if (options.temperature.empty()) {
    return fail("strength",
                "--temperature (of the reactor) is missing; for example --temperature "
                "25C");
  }
  const auto temperature = parse_temperature("--temperature", options.temperature);
  if (!temperature) {
    return fail("strength", temperature.error());
  }
  const auto limewater = limewater_of(options, *temperature);
  if (!limewater) {
    return fail("strength", limewater.error());
  }
  const auto saturated = in_words(chemistry::saturated_strength(*temperature));
  if (!saturated) {
    return fail("strength", saturated.error());
  }
  const auto spread = in_words(chemistry::strength_spread(*temperature));
  if (!spread) {
    return fail("strength", spread.error());
  }
  const chemistry::LimewaterProperties p = chemistry::properties_of(*limewater);
  const double saturation = limewater->strength / *saturated * 100.0;
  std::vector<Row> rows{
      {"calcium_hydroxide_mmol_kg", "calcium hydroxide", limewater->strength.count(), "mmol/kg", 2},
      {"alkalinity_meq_l", "alkalinity", p.alkalinity.count(), "meq/L", 1},
      {"calcium_mg_l", "calcium", p.calcium.count(), "mg/L", 0},
      {"ph", "pH, NBS scale", p.ph.count(), "", 2},
      {"conductivity_ms_cm", "conductivity, computed for this temperature", p.conductivity.count(),
       "mS/cm", 2},
      {"saturation_percent", "of what saturated limewater holds", saturation, "%", 1},
      {"spread_percent", "published values differ by up to +-", spread->count(), "%", 1}};
  if (std::string remark = remark_on(saturation, *spread); !remark.empty()) {
    rows.push_back({"remark", "remark", std::move(remark), "", 0});
  }
  print(rows, options.json ? Output::json : Output::table);
  return 0;
}

}  // namespace

void add_strength(CLI::App& app, int& exit_code) {
  const auto options = std::make_shared<Options>();
  CLI::App* command = app.add_subcommand("strength", "how strong the limewater is");
  command->add_option(
      "--temperature", options->temperature,
      "temperature of the reactor, which is the room's rather than the tank's: 23C");
  command->add_option("--conductivity", options->conductivity,
                      "measured, not compensated for temperature: 7.9mS/cm; otherwise the "
                      "limewater is taken for saturated");
  command->add_option("--saturated-reading", options->saturated_reading,
                      "what this probe shows in freshly saturated limewater at the same "
                      "temperature: 9.1mS/cm; without it the probe is taken for exact");
  command->add_option("--spoiled", options->spoiled,
                      "share that CO2 from the air has used up: 10%");
  command->add_flag("--json", options->json, "one JSON object instead of a table");
  command->footer(
      "Example, saturated limewater in a room of 25 degrees:\n"
      "  limegate strength --temperature 25C\n"
      "Example, by conductivity, with a probe that shows 9.1 mS/cm when it is saturated:\n"
      "  limegate strength --temperature 25C --conductivity 8.4mS/cm --saturated-reading 9.1mS/cm\n"
      "More than 100 % of saturation cannot be: the probe wants its --saturated-reading.\n"
      "Lime dissolves better in the cold: a cooler reactor gives stronger limewater.");
  command->callback([options, &exit_code] { exit_code = run(*options); });
}

}  // namespace limegate::calculator
