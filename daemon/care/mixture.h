#pragma once

#include <vector>

#include "care/belief.h"

namespace limegate::care {

/// The interval that holds the truth nine times in ten, if all is as it is taken to be.
struct Interval {
  double low = 0.0;
  double high = 0.0;
};

/// The middle and its 90 % interval.
struct Estimate {
  double median = 0.0;
  Interval ninety;
};

/// Many beliefs side by side, each with its weight. Quantiles are those of all of them together,
/// so two explanations that differ make one wide interval, not a mean that neither believes.
/// Demand is taken to be above zero: what a tank takes up is no supply.
class Mixture {
 public:
  struct Part {
    double weight;  ///< of all parts together 1
    Belief belief;
    double kit_sd;  ///< dKH
  };
  /// `parts` is not empty. Those that together weigh less than a part in 2000 are left out.
  explicit Mixture(std::vector<Part> parts);

  [[nodiscard]] Estimate level() const;    ///< dKH, as the kit in use reads without its noise
  [[nodiscard]] Estimate reading() const;  ///< dKH, what a test reads that is no slip
  [[nodiscard]] Estimate demand() const;   ///< dKH a day
  /// Nominal supply that holds the level, in dKH a day: demand over what limewater truly gives.
  [[nodiscard]] Estimate hold() const;
  /// dKH.
  [[nodiscard]] double level_sd() const;
  [[nodiscard]] double kit_sd() const;

 private:
  std::vector<Part> parts_;
};

}  // namespace limegate::care
