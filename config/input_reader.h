#pragma once

#include "config/bus_reader.h"
#include "config/config.h"
#include "config/table_reader.h"

namespace limegate::config {

/// Reads every [[station.input]] of a station whose limits have been read: what the owner's rules
/// may look at beside the station's own probes. False if it can't be told of each of them what it
/// is: then its rules can't be judged.
[[nodiscard]] bool read_inputs(TableReader& reader, WiringReader& wiring, Station& station);

}  // namespace limegate::config
