#pragma once

#include <optional>
#include <random>

#include "ports/outlet.h"
#include "simulator/aquarium.h"
#include "simulator/reactor.h"
#include "simulator/tank_settings.h"
#include "units/quantities.h"
#include "units/time.h"

namespace limegate::simulator {

/// A tank with its reactor, pump, stirrer and probes, made of arithmetic.
/// Threads: one owner. Time moves only by `advance`.
class Tank {
 public:
  enum class Part { pump, stirrer };

  Tank(const TankSettings& settings, Moment start);

  /// Lets the world go on to `now`; earlier times change nothing.
  void advance(Moment now);

  /// What the probes show at the time advanced to, noise included.
  [[nodiscard]] double sample_ph();
  [[nodiscard]] double sample_temperature();

  /// The board's own timer ends it.
  void run_for(Part part, Duration duration);
  void off(Part part);
  [[nodiscard]] ports::OutletState state(Part part) const;

  [[nodiscard]] Millilitres delivered() const { return delivered_; }
  [[nodiscard]] const Aquarium& aquarium() const { return aquarium_; }
  [[nodiscard]] const Reactor& reactor() const { return reactor_; }

 private:
  void second(Moment at);

  TankSettings settings_;
  Moment now_;
  Aquarium aquarium_;
  Reactor reactor_;
  std::mt19937_64 random_;
  std::normal_distribution<double> normal_;
  std::optional<Instant> pump_until_;
  std::optional<Instant> stirrer_until_;
  Millilitres delivered_;
};

}  // namespace limegate::simulator
