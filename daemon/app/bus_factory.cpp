#include "app/bus_factory.h"

#include <utility>

#include <fmt/format.h>

namespace limegate::app {

WiredBuses make_buses(const config::Config& config, const ports::Clock& clock,
                      const std::function<void(std::function<void()>)>& post) {
  WiredBuses wired;
  wired.buses.resize(config.buses.size());
  std::vector<std::vector<modbus::ProbeSettings>> settings(config.buses.size());
  const auto add = [&](const config::ProbeWiring& wiring, std::size_t station, Meaning meaning,
                       std::size_t input = 0) {
    settings[wiring.bus].push_back(wiring.probe);
    wired.buses[wiring.bus].probes.push_back(
        {station, meaning,
         fmt::format("bus {}, unit {}, address {}", config.buses[wiring.bus].name,
                     wiring.probe.unit, wiring.probe.address),
         input});
  };
  for (std::size_t i = 0; i < config.stations.size(); ++i) {
    const auto& wiring = config.stations[i].wiring;
    if (wiring) {
      add(wiring->ph, i, Meaning::ph);
      if (wiring->second_ph) {
        add(*wiring->second_ph, i, Meaning::second_ph);
      }
      add(wiring->temperature, i, Meaning::temperature);
      if (wiring->stirrer_input) {
        add(*wiring->stirrer_input, i, Meaning::stirrer);
      }
      const auto& inputs = config.stations[i].inputs;
      for (std::size_t input = 0; input < inputs.size(); ++input) {
        if (const auto* wired_input = std::get_if<config::ProbeWiring>(&inputs[input])) {
          add(*wired_input, i, Meaning::input, rules::OwnerRulebook::kFirstOwn + input);
        }
      }
    }
  }
  for (std::size_t i = 0; i < config.buses.size(); ++i) {
    wired.buses[i].bus =
        std::make_unique<modbus::Bus>(config.buses[i], std::move(settings[i]), clock, post);
  }
  return wired;
}

}  // namespace limegate::app
