#pragma once

#include <string>
#include <vector>

#include "calculator/measure.h"
#include "calculator/report.h"
#include "chemistry/limewater.h"

namespace CLI {  // NOLINT(readability-identifier-naming): the library's own name
class App;
}

namespace limegate::calculator {

/// What a keeper says of the limewater, as typed.
struct LimewaterOptions {
  std::string strength;
  std::string reactor_temperature;
  std::string spoiled;
};

/// Adds the options that describe limewater to a command. `options` must outlive the parsing.
void add_limewater_options(CLI::App& command, LimewaterOptions& options);

/// The limewater given, or saturated at the reactor's temperature, less what has spoiled. Of a
/// given strength `otherwise` is the temperature, if none was said.
/// Errors: a sentence that names the option, its range and source.
[[nodiscard]] Input<chemistry::Limewater> limewater_of(const LimewaterOptions& options,
                                                       Celsius otherwise);

/// A row that says so if a strength was given that no limewater has at its temperature, beyond what
/// the handbooks differ by; none otherwise, and where no handbook says how much dissolves.
[[nodiscard]] std::vector<Row> remark_on(const chemistry::Limewater& limewater);

}  // namespace limegate::calculator
