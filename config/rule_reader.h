#pragma once

#include <string>
#include <vector>

#include "config/config.h"
#include "config/table_reader.h"

namespace limegate::config {

/// Reads every [[station.rule]] of a station whose inputs have been read. Warnings are what is
/// allowed and should be known.
void read_rules(TableReader& reader, Station& station, std::vector<std::string>& warnings);

}  // namespace limegate::config
