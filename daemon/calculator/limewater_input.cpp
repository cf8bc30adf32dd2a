#include "calculator/limewater_input.h"

#include <CLI/CLI.hpp>
#include <fmt/format.h>

#include "calculator/inputs.h"

namespace limegate::calculator {

void add_limewater_options(CLI::App& command, LimewaterOptions& options) {
  command.add_option("--strength", options.strength,
                     "of the limewater: 20.3mmol/kg, 20.3mmol/L or 40.6meq/L");
  command.add_option("--reactor-temperature", options.reactor_temperature,
                     "of the limewater: 23C; without --strength it is taken for saturated there");
  command.add_option("--spoiled", options.spoiled,
                     "share of the limewater that CO2 from the air has used up: 10%");
}

Input<chemistry::Limewater> limewater_of(const LimewaterOptions& options, Celsius otherwise) {
  Celsius temperature = otherwise;
  if (!options.reactor_temperature.empty()) {
    const auto given = parse_temperature("--reactor-temperature", options.reactor_temperature);
    if (!given) {
      return refuse(given.error());
    }
    temperature = *given;
  } else if (options.strength.empty()) {
    return refuse(
        "give the limewater's --strength, for example 20.3mmol/kg, or the --reactor-temperature, "
        "for example 23C, to take it for saturated");
  }
  auto limewater = options.strength.empty()
                       ? in_words(chemistry::saturated_limewater(temperature))
                       : parse_strength("--strength", options.strength, temperature);
  if (!limewater || options.spoiled.empty()) {
    return limewater;
  }
  const auto share = parse_percent("--spoiled", options.spoiled);
  if (!share) {
    return refuse(share.error());
  }
  return in_words(chemistry::spoiled(*limewater, *share));
}

std::vector<Row> remark_on(const chemistry::Limewater& limewater) {
  const auto saturated = chemistry::saturated_strength(limewater.temperature);
  const auto spread = chemistry::strength_spread(limewater.temperature);
  if (!saturated || !spread ||
      limewater.strength.count() <= saturated->count() * (1.0 + spread->count() / 100.0)) {
    return {};
  }
  return {{"remark", "remark",
           fmt::format("More than can dissolve at {:.0f} C, which is {:.1f} mmol/kg: is the unit "
                       "right (1 mmol/kg is about 2 meq/L), or is it milk? Do not dose by this.",
                       limewater.temperature.count(), saturated->count()),
           "", 0}};
}

}  // namespace limegate::calculator
