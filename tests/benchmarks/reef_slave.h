#pragma once

#include <cstdint>

#include "support/slave.h"

namespace limegate::test {

/// Two probes at `unit` of a slave, and a relay board with a pump and a stirrer at the unit after
/// it.
inline void add_reef(Slave& slave, int unit) {
  slave.set_holding(unit, 0, 836);
  slave.set_holding(unit, 1, 255);
  for (const std::uint16_t outlet : {std::uint16_t{0}, std::uint16_t{1}}) {
    RelayOutlet relay;
    relay.unit = unit + 1;
    relay.address = outlet;
    relay.timed_register = static_cast<std::uint16_t>(10 + outlet);
    slave.add_outlet(relay);
  }
}

}  // namespace limegate::test
