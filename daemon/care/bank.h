#pragma once

#include <vector>

#include "care/belief.h"
#include "care/mixture.h"

namespace limegate::care {

/// What happens to the water from one moment to the next that is of interest, in this order: time
/// passes, then something is mixed in.
struct Move {
  double days = 0.0;
  double supply = 0.0;           ///< dKH that limewater nominally brings in these days
  double supply_variance = 0.0;  ///< dKH², of what was given and is not known
  double kept = 1.0;             ///< share of the level that then remains: a water change
  double added = 0.0;            ///< dKH that then come otherwise
  double added_variance = 0.0;   ///< dKH²
};

/// What happened from one moment to another.
struct Stretch {
  std::vector<Move> moves;
  /// The same, cut where demand may have changed at once.
  struct Cut {
    std::vector<Move> before, after;
  };
  std::vector<Cut> cuts;
  double days = 0.0;
};

/// What is taken for possible before the first test.
struct Assumptions {
  struct Choice {
    double value;
    double weight;
  };
  std::vector<Choice> kit_sds;  ///< dKH
  std::vector<Choice> drifts;   ///< of demand, as a share of it, in the square root of a day
  struct Step {
    double kept;        ///< of demand
    double sd;          ///< as a share of demand before
    double log_weight;  ///< logarithm of its share of all steps
  };
  std::vector<Step> steps;
  double steps_per_day;
  double slips;    ///< share of the tests
  double slip_sd;  ///< dKH
  double supply_error_sd;
  std::size_t explanations;  ///< that are kept for each pair of kit and drift
};
[[nodiscard]] Assumptions usual_assumptions();

/// Explanations of the tests, side by side: each is a filter (belief.h) that takes each test for
/// sound or for a slip, and each stretch for quiet or for one with a step of demand, under one
/// precision of the kit and one drift of demand. They are weighed by how likely they make the
/// tests; of many the likeliest are kept.
/// Source: the idea of a bank is Magill 1965, 10.1109/TAC.1965.1098191; its pruning that of
/// Reid 1979, 10.1109/TAC.1979.1102177 (both from memory).
class Bank {
 public:
  /// `level` is the first test's; `supply` what limewater nominally brought (dKH a day), the scale
  /// on which demand is sought.
  Bank(const Assumptions& assumptions, double level, double supply);

  void pass(const Stretch& stretch);
  void learn(double reading);
  [[nodiscard]] Mixture mixture() const;
  /// How likely the newest test is a slip.
  [[nodiscard]] double slip_chance() const;

 private:
  struct Explanation {
    Belief belief;
    double log_weight;
    bool slip = false;  ///< so it takes the newest test
  };
  struct Group {
    double kit_sd;
    double drift;
    std::vector<Explanation> explanations;
  };
  /// An explanation that takes the newest test for sound or for a slip.
  struct Taken {
    const Explanation* from;
    bool slip;
    double log_weight;
  };
  void weigh();

  Assumptions assumptions_;
  std::vector<Group> groups_;
};

}  // namespace limegate::care
