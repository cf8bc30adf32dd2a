#pragma once

#include "journal/readings.h"
#include "station/station.h"
#include "units/time.h"

namespace limegate::app {

/// What is written down of a station's probes at this moment.
[[nodiscard]] journal::ReadingRow reading_row(const station::Station& core, Moment now);

}  // namespace limegate::app
