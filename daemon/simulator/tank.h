#pragma once

#include <optional>
#include <random>

#include "ports/outlet.h"
#include "simulator/tank_settings.h"
#include "units/quantities.h"
#include "units/time.h"

namespace limegate::simulator {

/// A tank with its reactor, pump and stirrer, made of arithmetic: a day curve of pH, a stated
/// response to each millilitre, a slow return to the usual course, probe noise, and water that is
/// milky while stirred and clears after.
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

 private:
  void second(Moment at);
  [[nodiscard]] double usual_ph() const;

  TankSettings settings_;
  Moment now_;
  std::mt19937_64 random_;
  std::normal_distribution<double> normal_;
  std::optional<Instant> pump_until_;
  std::optional<Instant> stirrer_until_;
  double deviation_ = 0.0;  ///< of pH from its usual course, by what was dosed
  double turbidity_ = 0.0;  ///< 1 while stirred, fading to 0
  Millilitres delivered_;
};

}  // namespace limegate::simulator
