#include <memory>
#include <optional>

#include <CLI/CLI.hpp>
#include <fmt/format.h>

#include "calculator/buffer_input.h"
#include "calculator/inputs.h"
#include "calculator/report.h"
#include "calculator/subcommands.h"
#include "chemistry/electrode.h"
#include "chemistry/ph_buffers.h"

namespace limegate::calculator {
namespace {

using chemistry::CalibrationFault;
using chemistry::Electrode;
using chemistry::ElectrodeCalibration;
using chemistry::ElectrodeVerdict;
using chemistry::SlopeOrigin;

/// kStandardBuffers by their pH at 25 degC.
constexpr std::array kBufferNames{"4.005",  "6.865",  "7.000", "7.413", "9.180",
                                  "10.012", "12.454", "4.00",  "7.00",  "10.01"};

struct Options {
  std::vector<std::string> buffers;
  std::string slope;
  std::string offset;
  std::string reading;
  std::string temperature;
  bool json = false;
};

std::string code_of(ElectrodeVerdict verdict) {
  switch (verdict) {
    case ElectrodeVerdict::good:
      return "good";
    case ElectrodeVerdict::ageing:
      return "ageing";
    case ElectrodeVerdict::worn_out:
      return "worn_out";
  }
  return {};  // unreachable: the switch names every verdict
}

std::string explained(const CalibrationFault& fault, const std::vector<NamedReading>& readings) {
  std::string words{chemistry::words(fault.refusal)};
  if (readings.empty() || fault.refusal == chemistry::CalibrationRefusal::number_of_buffers) {
    return words;
  }
  const std::string& first = readings[fault.first].name;
  if (fault.first == fault.second) {
    return fmt::format("buffer {}: {}", first, words);
  }
  return fmt::format("buffers {} and {}: {}", first, readings[fault.second].name, words);
}

Input<ElectrodeCalibration> calibration_of(const std::vector<std::string>& texts) {
  std::vector<NamedReading> named;
  std::vector<chemistry::BufferReading> readings;
  for (const std::string& text : texts) {
    const auto reading = parse_buffer(text);
    if (!reading) {
      return refuse(reading.error());
    }
    named.push_back(*reading);
    readings.push_back(reading->reading);
  }
  const auto calibration = chemistry::calibrate(readings);
  if (!calibration) {
    return refuse(explained(calibration.error(), named));
  }
  return *calibration;
}

std::vector<Row> rows_of(const ElectrodeCalibration& calibration) {
  const bool measured = calibration.slope_origin == SlopeOrigin::measured;
  return {{"slope_percent", "slope", calibration.electrode.slope.count(), "% of Nernst", 1},
          {"slope_origin", "slope is", std::string{measured ? "measured" : "assumed"}, "", 0},
          {"offset_mv", "offset at pH 7", calibration.electrode.offset.count(), "mV", 1},
          {"verdict", "verdict", code_of(calibration.verdict), "", 0},
          {"advice", "in words", std::string{words(calibration.verdict)}, "", 0}};
}

/// The electrode typed by its slope and offset.
Input<Electrode> electrode_of(const Options& options) {
  Electrode electrode;
  if (!options.slope.empty()) {
    const auto slope = parse_percent("--slope", options.slope);
    if (!slope) {
      return refuse(slope.error());
    }
    electrode.slope = *slope;
  }
  if (!options.offset.empty()) {
    const auto offset = parse_millivolts("--offset", options.offset);
    if (!offset) {
      return refuse(offset.error());
    }
    electrode.offset = *offset;
  }
  return electrode;
}

/// What stands without an electrode: Nernst's slope and the buffers at this temperature.
Input<std::vector<Row>> buffer_rows(Celsius temperature) {
  const auto nernst = in_words(chemistry::nernst_slope(temperature));
  if (!nernst) {
    return refuse(nernst.error());
  }
  std::vector<Row> rows{{"nernst_mv", "Nernst's slope", nernst->count(), "mV per pH", 3}};
  for (std::size_t i = 0; i < kBufferNames.size(); ++i) {
    const auto ph = in_words(chemistry::buffer_ph(chemistry::kStandardBuffers[i], temperature));
    if (!ph) {
      return refuse(ph.error());
    }
    rows.push_back({fmt::format("buffer_{}", kBufferNames[i]),
                    fmt::format("buffer {}", kBufferNames[i]), ph->count(), "pH, NBS scale", 3});
  }
  return rows;
}

Input<Row> reading_row(const Options& options, const Electrode& electrode, Celsius temperature) {
  const auto reading = parse_millivolts("--reading", options.reading);
  if (!reading) {
    return refuse(reading.error());
  }
  return in_words(chemistry::ph_from(electrode, *reading, temperature)).map([](Ph ph) {
    return Row{"ph_nbs", "pH, NBS scale", ph.count(), "", 3};
  });
}

Input<std::vector<Row>> rows_of(const Options& options) {
  const bool typed = !options.slope.empty() || !options.offset.empty();
  if (typed && !options.buffers.empty()) {
    return refuse("give either --buffer, or --slope and --offset");
  }
  std::optional<Celsius> temperature;
  if (!options.temperature.empty()) {
    const auto given = parse_temperature("--temperature", options.temperature);
    if (!given) {
      return refuse(given.error());
    }
    temperature = *given;
  }
  if (options.reading.empty() && options.buffers.empty() && temperature && !typed) {
    return buffer_rows(*temperature);
  }
  std::vector<Row> rows;
  Electrode electrode;
  if (!options.buffers.empty()) {
    const auto calibration = calibration_of(options.buffers);
    if (!calibration) {
      return refuse(calibration.error());
    }
    electrode = calibration->electrode;
    rows = rows_of(*calibration);
  } else {
    if (!typed || options.reading.empty()) {
      return refuse(
          "give at least one --buffer, for example --buffer 7.00=-3.1mV@25C; or --slope "
          "and --offset with a --reading; or --temperature alone for the buffers there");
    }
    const auto given = electrode_of(options);
    if (!given) {
      return refuse(given.error());
    }
    electrode = *given;
  }
  if (options.reading.empty()) {
    return rows;
  }
  if (!temperature) {
    return refuse("--reading needs the --temperature of the water, for example 25C");
  }
  const auto row = reading_row(options, electrode, *temperature);
  if (!row) {
    return refuse(row.error());
  }
  rows.push_back(*row);
  return rows;
}

}  // namespace

void add_electrode(CLI::App& app, int& exit_code) {
  const auto options = std::make_shared<Options>();
  CLI::App* command =
      app.add_subcommand("electrode", "what a pH electrode is worth, and what it reads");
  command
      ->add_option("--buffer", options->buffers,
                   "a reading in a buffer, up to three times: 7.00=-3.1mV@25C; with the reading "
                   "of a minute before, to see drift: 7.00=-3.9mV..-3.1mV@25C")
      ->expected(1)
      ->take_all();
  command->add_option("--slope", options->slope, "slope known from before: 97.5%");
  command->add_option("--offset", options->offset, "offset known from before: 4.2mV");
  command->add_option("--reading", options->reading, "a live reading to turn into pH: -68.4mV");
  command->add_option("--temperature", options->temperature,
                      "temperature at that reading: 25.5C; alone: shows the buffers there");
  command->add_flag("--json", options->json, "one JSON object instead of a table");
  command->footer(
      "Example, a calibration with two buffers, then a reading in the tank:\n"
      "  limegate electrode --buffer 7.00=-3.1mV@25C --buffer 10.01=-176mV@25C \\\n"
      "    --reading -68.4mV --temperature 25.5C\n"
      "Buffers: " +
      known_buffers() +
      "\n"
      "A bottle that says something else, such as 10.00, has its maker's own table: write the pH "
      "it\n"
      "names at this temperature, as in --buffer bottle10.06=-178mV@20C.");
  command->callback([options, &exit_code] {
    exit_code =
        answer("electrode", rows_of(*options), options->json ? Output::json : Output::table);
  });
}

}  // namespace limegate::calculator
