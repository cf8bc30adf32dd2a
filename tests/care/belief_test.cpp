// The filter against what it must come to: least squares over all tests at once, by hand and by
// other code.

#include "care/belief.h"

#include <cmath>
#include <vector>

#include <gtest/gtest.h>

#include "care/mixture.h"

namespace limegate::care {
namespace {

/// Nothing is known before: so wide that it weighs nothing.
Belief open_minded(double supply_error_sd = 0.0) {
  return Belief{{8.0, 0.7, 0.0}, {100.0, 100.0, supply_error_sd}};
}

// CARE.md, section 4: n weekly tests of a constant demand, sd(D) = s √(12 / (n (n² - 1))) / h; for
// s = 0.2 and h = 7 days and n = 2, 3, 4, 6, 8 it gives these.
TEST(Belief, knows_a_constant_demand_as_well_as_least_squares) {
  const std::vector<std::pair<int, double>> rows{
      {2, 0.040}, {3, 0.020}, {4, 0.013}, {6, 0.007}, {8, 0.004}};
  for (const auto& [n, sd] : rows) {
    Belief belief = open_minded();
    for (int i = 0; i < n; ++i) {
      if (i > 0) {
        belief.pass(7.0, 4.9, 0.0, 0.0);
      }
      belief.learn(8.0, 0.04);
    }
    EXPECT_NEAR(belief.mean(Belief::kDemand), 0.7, 1e-3) << n;
    EXPECT_NEAR(std::sqrt(belief.variance(Belief::kDemand)), sd, 0.0006) << n;
    const double formula = 0.2 * std::sqrt(12.0 / (n * (n * n - 1.0))) / 7.0;
    EXPECT_NEAR(std::sqrt(belief.variance(Belief::kDemand)) / formula, 1.0, 1e-4) << n;
  }
}

// CARE.md, section 10.2: 8.4 dKH, after 8 days 7.9, supply 0.687 a day: D = 0.687 + 0.5/8 = 0.750
// (0.7495 before rounding), sd 0.2 √2 / 8 = 0.035; with 6 % of supply 0.054.
TEST(Belief, finds_demand_from_two_tests) {
  for (const auto& [error, sd] : {std::pair{0.0, 0.035}, std::pair{0.06, 0.054}}) {
    Belief belief = open_minded(error);
    belief.learn(8.4, 0.04);
    belief.pass(8.0, 8 * 0.687, 0.0, 0.0);
    belief.learn(7.9, 0.04);
    EXPECT_NEAR(belief.mean(Belief::kDemand), 0.750, 0.001);
    EXPECT_NEAR(std::sqrt(belief.variance(Belief::kDemand)), sd, 0.001);
  }
}

// The integral of a random walk: over h days level and demand spread by q [h³/3, -h²/2; -h²/2, h]
// (CARE.md, section 4), and it is the same in two steps as in one.
TEST(Belief, drifts_the_same_in_two_steps_as_in_one) {
  Belief once{{8.0, 0.7, 0.0}, {0.0, 0.0, 0.0}};
  Belief twice = once;
  once.pass(6.0, 3.0, 0.0, 0.01);
  twice.pass(2.0, 1.0, 0.0, 0.01);
  twice.pass(4.0, 2.0, 0.0, 0.01);
  EXPECT_NEAR(once.variance(Belief::kLevel), 0.01 * 216 / 3, 1e-12);
  EXPECT_NEAR(once.covariance(Belief::kLevel, Belief::kDemand), -0.01 * 36 / 2, 1e-12);
  EXPECT_NEAR(once.variance(Belief::kDemand), 0.06, 1e-12);
  EXPECT_NEAR(twice.variance(Belief::kLevel), once.variance(Belief::kLevel), 1e-12);
  EXPECT_NEAR(twice.covariance(Belief::kDemand, Belief::kLevel),
              once.covariance(Belief::kLevel, Belief::kDemand), 1e-12);
  EXPECT_NEAR(twice.mean(Belief::kLevel), 8.0 + 3.0 - 4.2, 1e-12);
}

// CARE.md, section 2: A' = (1 - f) A + f A_new; variance (1 - f)² P + f² s².
TEST(Belief, mixes_in_new_water) {
  Belief belief{{8.0, 0.7, 0.0}, {0.5, 0.1, 0.0}};
  belief.mix(0.8, 0.2 * 10.0, 0.04 * 0.09);
  EXPECT_NEAR(belief.mean(Belief::kLevel), 8.4, 1e-12);
  EXPECT_NEAR(belief.variance(Belief::kLevel), 0.64 * 0.25 + 0.04 * 0.09, 1e-12);
  EXPECT_NEAR(belief.mean(Belief::kDemand), 0.7, 1e-12);
}

// Ten times as wide, and as sure, as anything that the estimator starts with.
TEST(Belief, keeps_its_variances_through_thousands_of_tests) {
  Belief belief{{8.0, 0.7, 0.0}, {100.0, 100.0, 0.05}};
  for (int i = 0; i < 5000; ++i) {
    belief.pass(i % 7 == 0 ? 1e-6 : 5.0, 3.0, 0.0, 1e-9);
    belief.learn(8.0 + (i % 5) * 0.1, i % 3 == 0 ? 1e-4 : 0.04);
    for (const auto state : {Belief::kLevel, Belief::kDemand, Belief::kSupplyError}) {
      ASSERT_GE(belief.variance(state), 0.0) << i;
      ASSERT_TRUE(std::isfinite(belief.mean(state))) << i;
    }
  }
}

// One normal belief: its quantiles are those of a table, 1.645 standard deviations for 90 %.
TEST(Mixture, of_one_belief_is_that_belief) {
  const Mixture one{{{1.0, Belief{{8.0, 0.7, 0.0}, {0.3, 0.02, 0.0}}, 0.4}}};
  EXPECT_NEAR(one.level().median, 8.0, 1e-9);
  EXPECT_NEAR(one.level().ninety.high, 8.0 + 1.6449 * 0.3, 1e-4);
  EXPECT_NEAR(one.reading().ninety.low, 8.0 - 1.6449 * 0.5, 1e-4);
  EXPECT_NEAR(one.demand().ninety.low, 0.7 - 1.6449 * 0.02, 1e-4);
  EXPECT_NEAR(one.hold().median, 0.7, 1e-9);
  EXPECT_NEAR(one.level_sd(), 0.3, 1e-9);
}

// Where demand and supply error are one (their quotient is certain), what holds is certain too.
TEST(Mixture, knows_the_holding_supply_better_than_demand) {
  Belief belief{{8.0, 0.7, 0.0}, {100.0, 100.0, 0.05}};
  for (int i = 0; i < 20; ++i) {
    belief.learn(8.0, 1e-4);
    belief.pass(7.0, 4.9, 0.0, 0.0);
  }
  const Mixture one{{{1.0, belief, 0.01}}};
  const auto width = [](const Estimate& e) { return e.ninety.high - e.ninety.low; };
  EXPECT_NEAR(width(one.demand()), 2 * 1.6449 * 0.05 * 0.7, 0.001);
  EXPECT_LT(width(one.hold()), 0.001);
  EXPECT_NEAR(one.hold().median, 0.7, 1e-4);
}

TEST(Mixture, of_two_that_differ_holds_both) {
  const Belief low{{8.0, 0.3, 0.0}, {0.1, 0.01, 0.0}};
  const Belief high{{8.0, 0.9, 0.0}, {0.1, 0.01, 0.0}};
  const Mixture both{{{0.6, low, 0.2}, {0.4, high, 0.2}}};
  EXPECT_NEAR(both.demand().median, 0.3, 0.02);
  EXPECT_NEAR(both.demand().ninety.high, 0.9, 0.03);
  EXPECT_LT(both.demand().ninety.low, 0.3);
}

TEST(Mixture, takes_demand_to_be_above_zero) {
  const Mixture one{{{1.0, Belief{{8.0, 0.0, 0.0}, {0.1, 0.1, 0.0}}, 0.2}}};
  EXPECT_GE(one.demand().ninety.low, 0.0);
  // Half of a normal number: its median is the quartile, 0.6745 sd.
  EXPECT_NEAR(one.demand().median, 0.06745, 1e-4);
  const Mixture never{{{1.0, Belief{{8.0, -50.0, 0.0}, {0.1, 0.1, 0.0}}, 0.2}}};
  EXPECT_EQ(never.demand().median, 0.0);
}

}  // namespace
}  // namespace limegate::care
