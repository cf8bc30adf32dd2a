#pragma once

#include <string>

#include "config/config.h"

namespace limegate::app {

/// How each part is wired, read back in words: bus, unit, table, address, and what a raw value
/// there would mean. Empty for a simulated station.
[[nodiscard]] std::string wiring_of(const config::Config& config, const config::Station& station);

}  // namespace limegate::app
