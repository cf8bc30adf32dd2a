#include "app/reading_row.h"

#include <optional>
#include <string>

namespace limegate::app {
namespace {

std::string quality_of(const signal::Reading& reading) {
  return reading.quality == signal::Quality::good ? signal::name_of(reading.quality)
                                                  : signal::name_of(reading.reason);
}

std::optional<double> value_of(const signal::Reading& reading) {
  return reading.quality == signal::Quality::bad ? std::nullopt : std::optional{reading.value};
}

}  // namespace

journal::ReadingRow reading_row(const station::Station& core, Moment now) {
  const signal::Reading ph = core.reading(rules::Role::ph, now.mono);
  const signal::Reading temperature = core.reading(rules::Role::temperature, now.mono);
  journal::ReadingRow row{now.wall,        core.name(),
                          value_of(ph),    value_of(temperature),
                          quality_of(ph),  quality_of(temperature),
                          core.gate_open()};
  const station::Status status = core.status(now);
  if (status.second_ph && value_of(*status.second_ph)) {
    row.more.emplace_back("second-ph", status.second_ph->value);
  }
  for (const rules::InputShown& input : status.inputs) {
    if (input.value) {
      row.more.emplace_back(input.name, *input.value);
    }
  }
  return row;
}

}  // namespace limegate::app
