#pragma once

#include <array>

namespace limegate::care {

/// What one explanation of the tests believes of the water: a Kalman filter of three states.
/// Level is alkalinity as the kit in use reads it (dKH), so a kit that reads off by a constant
/// changes the level and nothing else. Demand is what the tank takes up (dKH a day). Supply error
/// is the share by which limewater truly gives more than its nominal alkalinity.
/// Source: R. E. Kalman 1960, 10.1115/1.3662552; the update in Joseph's form (CARE.md, section 4).
class Belief {
 public:
  enum State : std::size_t { kLevel, kDemand, kSupplyError };
  using Row = std::array<double, 3>;

  /// Nothing but prior means and standard deviations, independent of each other.
  Belief(const Row& mean, const Row& deviation);

  [[nodiscard]] double mean(State state) const { return mean_[state]; }
  [[nodiscard]] double variance(State state) const { return variance_[state][state]; }
  [[nodiscard]] double covariance(State a, State b) const { return variance_[a][b]; }

  /// So many days pass, in which limewater nominally brings `supply` (dKH), known to
  /// `supply_variance` (dKH²). Demand drifts at random by `drift_variance` (dKH²/day²) a day.
  void pass(double days, double supply, double supply_variance, double drift_variance);
  /// Level becomes `kept` of it and `added` (dKH), known to `added_variance` (dKH²).
  void mix(double kept, double added, double added_variance);
  /// Demand becomes `kept` of it, known to `added_variance` (dKH²/day²).
  void step_demand(double kept, double added_variance);
  /// How likely it is that a test reads `level` (dKH) with a variance of `noise` (dKH², above
  /// zero): the logarithm of its density.
  [[nodiscard]] double log_likelihood(double level, double noise) const;
  /// Learns that it did.
  void learn(double level, double noise);

 private:
  Row mean_;
  std::array<Row, 3> variance_{};
};

}  // namespace limegate::care
