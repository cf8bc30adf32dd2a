// How the parts of a world are made and joined.

#include <map>
#include <utility>

#include <boost/asio/post.hpp>

#include "app/bus_factory.h"
#include "app/world.h"
#include "gpio/bus.h"
#include "simulator/constant_bus.h"
#include "simulator/simulated_bus.h"

namespace limegate::app {

void World::build(const config::Config& config, const Tanks& tanks) {
  const auto post = [this](std::function<void()> what) {
    boost::asio::post(loop_, std::move(what));
  };
  WiredBuses wired = make_buses(config, pace_.clock(), post);
  std::vector<modbus::Bus*> buses;
  for (WiredBuses::Bus& bus : wired.buses) {
    Line line;
    line.name = config.buses[lines_.size()].name;
    buses.push_back(bus.bus.get());
    line.bus = std::move(bus.bus);
    for (const WiredBuses::Probe& probe : bus.probes) {
      const Meaning meaning = probe.meaning;
      line.all.push_back(line.probes.size());
      if (meaning != Meaning::temperature && meaning != Meaning::input) {
        line.gating.push_back(line.probes.size());
      }
      line.probes.push_back({probe.station, meaning, probe.place, std::nullopt});
      if (meaning == Meaning::input) {
        line.probes.back().input = probe.input;
        line.probes.back().input_name =
            config.stations[probe.station].settings.owner.inputs[probe.input].name;
      }
    }
    lines_.push_back(std::move(line));
  }
  build_gpio(config);
  for (const config::Station& station : config.stations) {
    if (!station.wiring) {
      build_simulated(station, tanks);
      continue;
    }
    const config::Wiring& wiring = *station.wiring;
    Outlets outlets;
    const auto outlet = [&](const config::OutletWiring& wired_to) {
      outlets.buses.push_back(buses[wired_to.bus]);
      return buses[wired_to.bus]->outlet(wired_to.outlet);
    };
    outlets.pump = outlet(wiring.pump);
    if (wiring.stirrer_outlet) {
      outlets.stirrer = outlet(*wiring.stirrer_outlet);
    }
    add_shell(station, std::move(outlets));
  }
}

void World::build_gpio(const config::Config& config) {
  struct Wired {
    std::vector<gpio::LineSettings> lines;
    std::vector<Probe> probes;
  };
  std::map<std::string, Wired> chips;
  for (std::size_t i = 0; i < config.stations.size(); ++i) {
    const config::Station& station = config.stations[i];
    for (std::size_t n = 0; n < station.inputs.size() && station.wiring; ++n) {
      const std::size_t input = rules::OwnerRulebook::kFirstOwn + n;
      if (const auto* place = std::get_if<config::GpioLine>(&station.inputs[n])) {
        Wired& chip = chips[place->chip];
        chip.lines.push_back(place->line);
        chip.probes.push_back({i, Meaning::input,
                               place->chip + ", line " + std::to_string(place->line.line),
                               std::nullopt, input, station.settings.owner.inputs[input].name});
      }
    }
  }
  for (auto& [path, wired] : chips) {
    Line line;
    line.name = path;
    for (std::size_t n = 0; n < wired.probes.size(); ++n) {
      line.all.push_back(n);
    }
    line.probes = std::move(wired.probes);
    line.bus = std::make_unique<gpio::Bus>(
        path, std::move(wired.lines), pace_.clock(),
        [this](std::function<void()> what) { boost::asio::post(loop_, std::move(what)); });
    lines_.push_back(std::move(line));
  }
}

void World::build_simulated(const config::Station& station, const Tanks& tanks) {
  using simulator::SimulatedBus;
  const auto known = tanks.find(station.settings.name);
  auto bus = std::make_unique<SimulatedBus>(
      known == tanks.end() ? simulator::Tank{station.tank, pace_.clock().now()} : known->second,
      pace_.clock(),
      [this](std::function<void()> what) { boost::asio::post(loop_, std::move(what)); });
  const std::size_t shell = add_shell(
      station,
      {bus->outlet(simulator::Tank::Part::pump), bus->outlet(simulator::Tank::Part::stirrer), {}});
  Line line;
  line.name = "simulated";
  line.bus = std::move(bus);
  line.probes = {{shell, Meaning::ph, "simulated", std::nullopt},
                 {shell, Meaning::temperature, "simulated", std::nullopt}};
  line.all = {SimulatedBus::kPh, SimulatedBus::kTemperature};
  line.gating = {SimulatedBus::kPh};
  if (station.settings.second_ph) {
    line.probes.push_back({shell, Meaning::second_ph, "simulated", std::nullopt});
    line.all.push_back(SimulatedBus::kSecondPh);
    line.gating.push_back(SimulatedBus::kSecondPh);
  }
  lines_.push_back(std::move(line));
  build_simulated_inputs(station, shell);
}

void World::build_simulated_inputs(const config::Station& station, std::size_t shell) {
  const std::vector<rules::Input>& inputs = station.settings.owner.inputs;
  Line line;
  line.name = "simulated";
  std::vector<double> usual;
  for (std::size_t i = rules::OwnerRulebook::kFirstOwn; i < inputs.size(); ++i) {
    line.all.push_back(usual.size());
    line.probes.push_back({shell, Meaning::input, "simulated", std::nullopt, i, inputs[i].name});
    usual.push_back(inputs[i].usual);
  }
  if (usual.empty()) {
    return;
  }
  line.bus = std::make_unique<simulator::ConstantBus>(
      std::move(usual), pace_.clock(),
      [this](std::function<void()> what) { boost::asio::post(loop_, std::move(what)); });
  lines_.push_back(std::move(line));
}

std::size_t World::add_shell(const config::Station& station, Outlets outlets) {
  outlet_buses_.push_back(std::move(outlets.buses));
  shells_.push_back(std::make_unique<shell::StationShell>(
      station.settings,
      shell::StationShell::Parts{
          journal_, pace_.clock(), pace_.boot_id(), std::move(outlets.pump),
          std::move(outlets.stirrer), std::make_unique<GuardStore>(journal_, station.settings.name),
          guard::read_record(journal_.guard_path(station.settings.name)),
          [this](const std::string& name, const station::Event& event) { raise(name, event); },
          [this](const std::string& why) { ledger_failed(why); }}));
  return shells_.size() - 1;
}

}  // namespace limegate::app
