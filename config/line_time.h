#pragma once

#include <utility>

#include "config/config.h"

namespace limegate::config {

/// The least and the most that it can hold; the same twice for what is no whole number.
[[nodiscard]] std::pair<double, double> whole_numbers_of(modbus::Encoding encoding);

/// 0 of a network.
[[nodiscard]] int baud_of(const modbus::BusSettings& bus);

/// How long it takes to ask for this over the bus's line and to hear all of the answer. Zero for a
/// network. Source: MODBUS over Serial Line V1.02, 2.5.1: characters of
/// 10 to 12 bits, 3.5 of them silent between frames and at least 1.75 ms above 19200 baud; and
/// 20 ms until a device answers (common practice, from memory).
[[nodiscard]] Duration time_to_read(const modbus::BusSettings& bus, const ProbeWiring& wiring);

/// The same for everything that this line's stations read there, once.
[[nodiscard]] Duration round_of(const Config& config, std::size_t bus);

}  // namespace limegate::config
