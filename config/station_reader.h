#pragma once

#include <string>
#include <vector>

#include "config/bus_reader.h"
#include "config/config.h"
#include "config/table_reader.h"

namespace limegate::config {

/// Reads one [[station]] with all its tables, and refuses a plan that can't be kept.
[[nodiscard]] Station read_station(TableReader& reader, WiringReader& wiring,
                                   std::vector<std::string>& warnings);

}  // namespace limegate::config
