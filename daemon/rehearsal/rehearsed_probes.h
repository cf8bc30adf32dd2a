#pragma once

#include <cstdint>
#include <optional>
#include <random>

#include "rehearsal/fault.h"
#include "simulator/tank.h"
#include "station/settings.h"

namespace limegate::rehearsal {

/// The probes of the simulated tank with everything that can be wrong with them, behind
/// transmitters that have a last digit. Threads: one owner.
class RehearsedProbes {
 public:
  RehearsedProbes(simulator::Tank& tank, const station::Settings& settings, std::uint64_t seed);

  struct Shown {
    std::optional<double> ph, temperature;  ///< absent: no answer
    std::optional<double> second_ph = {};   ///< no fault of a probe is its own
  };
  /// Once a second, `world` = true time since the start.
  [[nodiscard]] Shown sample(const ActiveFaults& faults, Duration world);

 private:
  [[nodiscard]] std::optional<double> ph(const ActiveFaults& faults, Duration world);

  simulator::Tank& tank_;
  double ph_digit_, temperature_digit_;
  std::optional<double> second_ph_digit_;  ///< absent: there is no such probe
  std::mt19937_64 random_;
  std::normal_distribution<double> normal_;
  double shown_ph_;            ///< of the last sample, for a probe that lags or is stuck
  std::optional<double> dry_;  ///< where a probe out of the water has wandered
};

}  // namespace limegate::rehearsal
