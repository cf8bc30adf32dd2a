#pragma once

#include "config/bus_reader.h"
#include "config/config.h"
#include "config/table_reader.h"

namespace limegate::config {

/// How a station of real parts is wired, what its probes resolve, how quick its pump is, how it is
/// stirred.
void read_wiring(TableReader& reader, WiringReader& wiring, Station& station);

/// The same of a simulated station.
void read_simulated_parts(TableReader& reader, Station& station);

/// The tank of a simulated station.
void read_simulation(TableReader& reader, Station& station);

}  // namespace limegate::config
