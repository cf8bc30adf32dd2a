#include "simulator/simulated_bus.h"

#include <utility>

namespace limegate::simulator {

/// An outlet of a simulated tank, with a board timer of its own.
class SimulatedOutlet : public ports::Outlet {
 public:
  SimulatedOutlet(SimulatedBus& bus, Tank::Part part) : bus_(bus), part_(part) {}

  void run_for(Duration duration, Instant send_before, Reply reply) override {
    Tank& tank = bus_.tank_now();
    if (bus_.clock_.now().mono >= send_before) {
      answer(tl::unexpected(ports::OutletFault{ports::Sent::no, ports::BusFault::timed_out}),
             std::move(reply));
      return;
    }
    tank.run_for(part_, duration);
    answer(tank.state(part_), std::move(reply));
  }

  void off(Reply reply) override {
    Tank& tank = bus_.tank_now();
    tank.off(part_);
    answer(tank.state(part_), std::move(reply));
  }

  void read_back(Reply reply) override { answer(bus_.tank_now().state(part_), std::move(reply)); }

 private:
  void answer(ports::OutletAnswer what, Reply reply) {
    bus_.post_([what, reply = std::move(reply)] { reply(what); });
  }

  SimulatedBus& bus_;
  Tank::Part part_;
};

SimulatedBus::SimulatedBus(const Tank& tank, const ports::Clock& clock, Post post)
    : clock_(clock), post_(std::move(post)), tank_(tank) {}

Tank& SimulatedBus::tank_now() {
  tank_.advance(clock_.now());
  return tank_;
}

void SimulatedBus::poll(std::vector<std::size_t> probes, PollReply reply) {
  Tank& tank = tank_now();
  std::vector<ports::Sample> samples;
  samples.reserve(probes.size());
  for (const std::size_t probe : probes) {
    samples.push_back({probe, probe == kTemperature ? tank.sample_temperature() : tank.sample_ph(),
                       clock_.now().mono});
  }
  post_([samples = std::move(samples), reply = std::move(reply)] { reply({samples}); });
}

std::unique_ptr<ports::Outlet> SimulatedBus::outlet(Tank::Part part) {
  return std::make_unique<SimulatedOutlet>(*this, part);
}

}  // namespace limegate::simulator
