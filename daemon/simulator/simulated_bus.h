#pragma once

#include <functional>
#include <memory>
#include <vector>

#include "ports/bus.h"
#include "ports/clock.h"
#include "ports/outlet.h"
#include "simulator/tank.h"

namespace limegate::simulator {

/// A tank behind the same ports as real parts. Probe 0 is pH, probe 1 the
/// temperature, probe 2 a second pH probe.
/// Threads: the loop thread; replies go through `post`, as those of a real bus do.
class SimulatedBus : public ports::Bus {
 public:
  using Post = std::function<void(std::function<void()>)>;
  static constexpr std::size_t kPh = 0;
  static constexpr std::size_t kTemperature = 1;
  static constexpr std::size_t kSecondPh = 2;

  /// The tank must be at `clock`'s time or before.
  SimulatedBus(const Tank& tank, const ports::Clock& clock, Post post);

  void poll(std::vector<std::size_t> probes, PollReply reply) override;

  /// The outlet keeps a reference to this bus.
  [[nodiscard]] std::unique_ptr<ports::Outlet> outlet(Tank::Part part);

  [[nodiscard]] Tank& tank() { return tank_; }

 private:
  friend class SimulatedOutlet;
  Tank& tank_now();

  const ports::Clock& clock_;
  Post post_;
  Tank tank_;
};

}  // namespace limegate::simulator
