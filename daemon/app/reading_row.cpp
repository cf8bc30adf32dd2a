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
  return {now.wall,        core.name(),
          value_of(ph),    value_of(temperature),
          quality_of(ph),  quality_of(temperature),
          core.gate_open()};
}

}  // namespace limegate::app
