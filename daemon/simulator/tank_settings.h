#pragma once

#include <cstdint>

#include "units/quantities.h"
#include "units/time.h"

namespace limegate::simulator {

/// A tank of simple, honest arithmetic. Every number is stated and can be set; none is hidden.
struct TankSettings {
  std::uint64_t seed = 1;
  Litres water{400.0};
  MillilitresPerMinute pump_rate{50.0};
  double ph_mean = 8.15;    ///< of the undosed day, on the probe's scale
  double ph_swing = 0.20;   ///< from the day's lowest to its highest
  double ph_noise = 0.004;  ///< standard deviation of a sample
  /// Dose response: pH per mL of saturated limewater in a litre of tank water.
  /// Source: +0.066 at pH_T 8.0, between the rows for 7.7 and 8.3 of limewater_additions.csv.
  double ph_per_ml_per_l = 0.066;
  /// Gas exchange brings a disturbed pH back to its course with this time constant.
  Duration ph_return = std::chrono::hours{4};
  double temperature = 25.5;        ///< °C
  double temperature_swing = 0.4;   ///< °C over the day
  double temperature_noise = 0.03;  ///< °C
  /// How milky water acts: this many times stronger while stirred, fading as it settles.
  double milk_strength = 3.0;
  Duration milk_clears = std::chrono::minutes{10};  ///< time constant
};

}  // namespace limegate::simulator
