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

  /// From here on the clock is another one, and everything is off; no time passes.
  void go_on_from(Moment now);

  /// Lets the world go on to `now`; earlier times change nothing.
  void advance(Moment now);

  /// What the probes show at the time advanced to, noise included.
  [[nodiscard]] double sample_ph();
  [[nodiscard]] double sample_temperature();

  /// The board's own timer ends it.
  void run_for(Part part, Duration duration);
  void off(Part part);
  [[nodiscard]] ports::OutletState state(Part part) const;

  /// What the pump gives of its usual flow: 0 = dead or dry, 2 = a tube of twice the bore.
  void set_pump_factor(double factor) { pump_factor_ = factor; }
  /// A motor that does not turn while its relay is on.
  enum class Motor { turns, stands };
  void set_stirrer_motor(Motor motor) { stirrer_motor_ = motor; }
  [[nodiscard]] bool stirs() const { return stirrer_until_ && stirrer_motor_ == Motor::turns; }
  /// Flow through the pump while it stands.
  void set_siphon(MillilitresPerMinute flow) { siphon_ = flow; }
  /// How long the pump turns on after its relay fell off.
  void set_overrun(Duration overrun) { overrun_ = overrun; }

  /// What people and time do to the water and to the reactor.
  [[nodiscard]] Aquarium& aquarium() { return aquarium_; }
  [[nodiscard]] Reactor& reactor() { return reactor_; }

  [[nodiscard]] Millilitres delivered() const { return delivered_; }
  /// Powder that was carried into the tank undissolved.
  [[nodiscard]] double carried_mmol() const { return carried_mmol_; }
  [[nodiscard]] const Aquarium& aquarium() const { return aquarium_; }
  [[nodiscard]] const Reactor& reactor() const { return reactor_; }

 private:
  void second(Moment at);
  void end_pump(Instant at);
  [[nodiscard]] double turning_share(Instant at) const;

  TankSettings settings_;
  Moment now_;
  Aquarium aquarium_;
  Reactor reactor_;
  std::mt19937_64 random_;
  std::normal_distribution<double> normal_;
  std::optional<Instant> pump_until_;
  std::optional<Instant> stirrer_until_;
  Motor stirrer_motor_ = Motor::turns;
  double pump_factor_ = 1.0;
  MillilitresPerMinute siphon_;
  Duration overrun_{};
  Instant turns_until_;  ///< after its relay fell off
  Millilitres delivered_;
  double carried_mmol_ = 0;
};

}  // namespace limegate::simulator
