#pragma once

#include <optional>
#include <random>

#include "rehearsal/fault.h"
#include "simulator/tank.h"
#include "station/settings.h"
#include "units/time.h"

namespace limegate::rehearsal {

/// A pH probe that can be at fault in all the ways there are.
/// Threads: one owner.
class FaultyPh {
 public:
  /// `silent` = the first of its kinds of fault; the others follow in the same order.
  FaultyPh(Fault::Kind silent, double shown, std::uint64_t seed)
      : silent_(silent), random_(seed), shown_(shown) {}
  struct Second {
    double ph = 0;  ///< what a sound probe shows
    Duration world{};
    bool pump_runs = false;
    Celsius water{};  ///< true
  };
  /// Once a second. Absent: no answer.
  [[nodiscard]] std::optional<double> show(const ActiveFaults& faults, const Second& second);

 private:
  /// The fault of this probe that is called so of the first one.
  [[nodiscard]] const std::optional<Fault>& find(const ActiveFaults& faults,
                                                 Fault::Kind of_first) const;

  /// What the meter makes of an electrode that is worn, or compensated wrongly.
  [[nodiscard]] double metered(const ActiveFaults& faults, const Second& second, double ph) const;
  /// How many seconds it lags; 0 or less: not at all.
  [[nodiscard]] double lag(const ActiveFaults& faults, Duration world) const;

  Fault::Kind silent_;
  std::mt19937_64 random_;
  std::normal_distribution<double> normal_;
  double shown_;               ///< of the last sample, for a probe that lags or is stuck
  std::optional<double> dry_;  ///< where a probe out of the water has wandered
};

/// What the probes of a simulated tank show to the program.
/// Threads: one owner.
class RehearsedProbes {
 public:
  RehearsedProbes(simulator::Tank& tank, const station::Settings& settings, std::uint64_t seed);

  struct Shown {
    std::optional<double> ph, temperature;  ///< absent: no answer
    std::optional<double> second_ph = {};
  };
  /// Once a second, `world` = true time since the start.
  [[nodiscard]] Shown sample(const ActiveFaults& faults, Duration world);

 private:
  simulator::Tank& tank_;
  double ph_digit_, temperature_digit_;
  FaultyPh ph_;
  struct Second {
    double digit;
    FaultyPh probe;
  };
  std::optional<Second> second_ph_;  ///< absent: there is no such probe
};

}  // namespace limegate::rehearsal
