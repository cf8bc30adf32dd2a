#pragma once

#include <string>
#include <vector>

#include "config/table_reader.h"
#include "mqtt/settings.h"

namespace limegate::config {

/// Reads [mqtt]. Warnings are what is allowed and should be known.
[[nodiscard]] mqtt::Settings read_mqtt(TableReader& reader, std::vector<std::string>& warnings);

}  // namespace limegate::config
