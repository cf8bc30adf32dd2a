#include <memory>
#include <optional>

#include <CLI/CLI.hpp>
#include <fmt/format.h>

#include "calculator/conversion.h"
#include "calculator/inputs.h"
#include "calculator/report.h"
#include "calculator/subcommands.h"
#include "units/plain_number.h"

namespace limegate::calculator {
namespace {

struct Options {
  std::string measure;
  std::string to;
  std::string temperature;
  std::string salinity;
  bool json = false;
};

Input<Surroundings> surroundings_of(const Options& options) {
  Surroundings at;
  if (!options.temperature.empty()) {
    const auto temperature = parse_temperature("--temperature", options.temperature);
    if (!temperature) {
      return refuse(temperature.error());
    }
    at.temperature = *temperature;
  }
  if (!options.salinity.empty()) {
    const auto salinity =
        parse_salinity("--salinity", options.salinity, at.temperature.value_or(Celsius{25.0}));
    if (!salinity) {
      return refuse(salinity.error());
    }
    at.salinity = *salinity;
  }
  return at;
}

int run(const Options& options) {
  if (options.measure.empty() || options.to.empty()) {
    return fail("convert", fmt::format("give a value with its unit and --to another unit, for "
                                       "example 8.2dKH --to meq/L; known units: {}",
                                       known_units()));
  }
  const auto at = surroundings_of(options);
  if (!at) {
    return fail("convert", at.error());
  }
  const auto answer = convert(options.measure, options.to, *at);
  if (!answer) {
    return fail("convert", answer.error());
  }
  if (options.json) {
    print({{"value", "", answer->value, "", 0}, {"unit", "", answer->unit, "", 0}}, Output::json);
  } else {
    fmt::print("{} {}\n", plain_number(answer->value, 6), answer->unit);
  }
  return 0;
}

}  // namespace

void add_convert(CLI::App& app, int& exit_code) {
  const auto options = std::make_shared<Options>();
  CLI::App* command = app.add_subcommand("convert", "one unit of the trade into another");
  command->add_option("measure", options->measure, "a value with its unit: 8.2dKH");
  command->add_option("--to", options->to, "the unit wanted: meq/L");
  command->add_option("--temperature", options->temperature,
                      "of the water: 25C; needed for SG, mS/cm and anything per kg");
  command->add_option("--salinity", options->salinity,
                      "of the water: 35; needed for anything per kg");
  command->add_flag("--json", options->json, "one JSON object instead of a line");
  command->footer(
      "Examples:\n"
      "  limegate convert 8.2dKH --to meq/L\n"
      "  limegate convert 53.1mS/cm --to salinity --temperature 25C\n"
      "  limegate convert 2300umol/kg --to dKH --salinity 35 --temperature 25C\n"
      "  limegate convert -5C --to F\n"
      "Known units: " +
      known_units() +
      "\n"
      "SG is the density over that of pure water, both at --temperature. A meter that compensates\n"
      "its conductivity to 25 C is entered with --temperature 25C.");
  command->callback([options, &exit_code] { exit_code = run(*options); });
}

}  // namespace limegate::calculator
