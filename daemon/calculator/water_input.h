#pragma once

#include <string>

#include "calculator/measure.h"
#include "chemistry/carbonate_system.h"

namespace CLI {  // NOLINT(readability-identifier-naming): the library's own name
class App;
}

namespace limegate::calculator {

/// What a keeper says of the water, as typed.
struct WaterOptions {
  std::string salinity;
  std::string temperature;
  std::string alkalinity;
  std::string ph;
  std::string scale;
  std::string dissolved_carbon;
  std::string calcium;
  std::string boron = "uppstroem";
};

/// The water, solved.
struct SolvedWater {
  chemistry::BoronSource boron;
  chemistry::SeawaterConstants constants;
  chemistry::CarbonateState state;
};

/// Adds the options that describe water to a command. `options` must outlive the parsing.
void add_water_options(CLI::App& command, WaterOptions& options);

/// Reads and solves what was typed.
/// Errors: a sentence that names the option or the value, its range and source, or the known words.
[[nodiscard]] Input<SolvedWater> solve(const WaterOptions& options);

}  // namespace limegate::calculator
