#pragma once

#include <cstdint>
#include <span>

#include "modbus/settings.h"

namespace limegate::modbus {

/// How many registers (or bits) of its table a probe's value takes: 1 or 2.
[[nodiscard]] std::uint16_t width_of(const ProbeSettings& probe);

/// The probe's value from its `width_of` words as read: encoding and word order, then
/// `scale` and `offset`, then °F to °C where asked. A bit gives 0 or 1 before scaling.
/// Errors: none. NaN and infinity come out non-finite, for the layer above to judge; so does a
/// list of the wrong length.
[[nodiscard]] double decode(const ProbeSettings& probe, std::span<const std::uint16_t> words);

}  // namespace limegate::modbus
