#pragma once

#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "app/meaning.h"
#include "config/config.h"
#include "modbus/bus.h"
#include "ports/clock.h"

namespace limegate::app {

/// The real buses of a config with the probes that are wired to each.
struct WiredBuses {
  struct Probe {
    std::size_t station;  ///< index in the config
    Meaning meaning;
    std::string place;      ///< for people: "bus panel, unit 1, address 0"
    std::size_t input = 0;  ///< index in the rulebook of the owner's rules
  };
  struct Bus {
    std::unique_ptr<modbus::Bus> bus;
    std::vector<Probe> probes;  ///< by the bus's own numbers
  };
  std::vector<Bus> buses;  ///< in the config's order
};

/// Makes the buses; nothing is opened or sent yet.
[[nodiscard]] WiredBuses make_buses(const config::Config& config, const ports::Clock& clock,
                                    const std::function<void(std::function<void()>)>& post);

}  // namespace limegate::app
