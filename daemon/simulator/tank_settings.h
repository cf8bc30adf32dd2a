#pragma once

#include <cstdint>

#include "simulator/aquarium.h"
#include "simulator/reactor.h"
#include "units/quantities.h"

namespace limegate::simulator {

/// A simulated station: water, reactor, pump and probes. Every number is stated and can be set.
struct TankSettings {
  std::uint64_t seed = 1;
  AquariumSettings aquarium;
  ReactorSettings reactor;
  MillilitresPerMinute pump_rate{50.0};  ///< the highest it can reach, as the config says
  double pump_share = 0.95;              ///< what it reaches of that
  double ph_noise = 0.004;               ///< standard deviation of a sample
  double temperature_noise = 0.03;       ///< °C, of a sample
};

}  // namespace limegate::simulator
