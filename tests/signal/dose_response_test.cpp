// What doses truly do, beside what they should: in a made-up tank whose truth is known.

#include "signal/dose_response.h"

#include <cmath>
#include <limits>
#include <numbers>
#include <random>

#include <gtest/gtest.h>

namespace limegate::signal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using Part = DoseResponse::Part;

/// Cycles of two hours: 75 min without doses, 45 min with. What a dose does fades with 6 h. All
/// numbers are a scenario of our own.
class Water {
 public:
  /// One cycle in which doses should raise the value by `dose`, and truly do `share` of it.
  bool cycle(double dose, double share) {
    bool completed = false;
    const Instant quiet_since = now;
    for (Duration passed{}; passed < 2h; passed += 10s, now += 10s) {
      const bool quiet = passed < 75min;
      expected *= std::exp(-10.0 / 21600.0);
      truth *= std::exp(-10.0 / 21600.0);
      if (!quiet) {
        expected += dose / 270.0;
        truth += dose * share / 270.0;
      }
      if (quiet && (passed < 15min || passed >= 45min)) {
        const Part part = passed < 15min ? Part::after_doses : Part::before_doses;
        completed |= response.take(quiet_since, part, now, shown(), expected);
      }
    }
    return completed;
  }
  void day(double dose, double share) {
    for (int cycles = 0; cycles < 12; ++cycles) {
      cycle(dose, share);
    }
  }
  double shown() {
    const double hours =
        std::chrono::duration<double, std::ratio<3600>>(now.time_since_epoch()).count();
    return 8.2 + swing * std::sin(2.0 * std::numbers::pi * hours / 24.0) +
           corners * std::cos(4.0 * std::numbers::pi * hours / 24.0) + truth +
           noise * normal(random);
  }

  DoseResponse response{2h};
  Instant now{100h};
  double expected = 0.0, truth = 0.0, swing = 0.15, noise = 0.01;
  double corners = 0.0;  ///< where the lights come and go
  // NOLINTNEXTLINE(cert-msc32-c,cert-msc51-cpp): the same course each time
  std::mt19937_64 random{7};
  std::normal_distribution<double> normal;
};

TEST(DoseResponse, finds_the_true_share_under_a_day_s_swing_and_noise) {
  for (const double share : {0.0, 0.3, 1.0, 2.0}) {
    Water water;
    water.day(0.04, share);
    water.day(0.04, share);
    const auto seen = water.response.today();
    ASSERT_TRUE(seen);
    EXPECT_NEAR(seen->share, share, 0.06);
    EXPECT_LT(seen->error, 0.15);
    EXPECT_LT(std::abs(seen->share - share), 3.0 * seen->error);
  }
}

TEST(DoseResponse, is_not_misled_where_more_is_dosed_at_some_hours_than_at_others) {
  for (int first = 0; first < 12; ++first) {
    Water water;
    water.corners = 0.06;
    for (int cycle = 0; cycle < 36; ++cycle) {
      const bool much = (cycle + first) % 12 < 4;
      water.cycle(much ? 0.03 : 0.003, 1.0);
    }
    const auto seen = water.response.today();
    ASSERT_TRUE(seen);
    EXPECT_NEAR(seen->share, 1.0, 0.2) << first;
    EXPECT_LT(std::abs(seen->share - 1.0), 3.0 * seen->error) << first;
  }
}

TEST(DoseResponse, of_a_day_alone_the_swing_adds_up_to_nothing) {
  Water water;
  water.noise = 0.0;
  water.swing = 0.3;
  for (int days = 0; days < 4; ++days) {
    water.day(0.04, 1.0);
  }
  const auto seen = water.response.today();
  ASSERT_TRUE(seen);
  EXPECT_NEAR(seen->share, 1.0, 0.02);
}

TEST(DoseResponse, says_nothing_until_most_of_a_day_was_seen) {
  Water water;
  for (int cycles = 0; cycles < 9; ++cycles) {
    water.cycle(0.04, 1.0);
    EXPECT_FALSE(water.response.today()) << "after " << cycles + 1;
  }
  water.cycle(0.04, 1.0);
  EXPECT_FALSE(water.response.today()) << "nine cycles are whole when the eleventh begins";
  water.cycle(0.04, 1.0);
  EXPECT_TRUE(water.response.today());
}

TEST(DoseResponse, says_nothing_where_nothing_was_dosed) {
  Water water;
  water.day(0.0, 1.0);
  water.day(0.0, 1.0);
  EXPECT_FALSE(water.response.today());
}

TEST(DoseResponse, follows_a_change_within_a_day) {
  Water water;
  water.day(0.04, 1.0);
  water.day(0.04, 1.0);
  water.day(0.04, 0.0);
  water.cycle(0.04, 0.0);
  const auto seen = water.response.today();
  ASSERT_TRUE(seen);
  EXPECT_LT(seen->share, 0.25);
}

TEST(DoseResponse, a_gap_in_a_cycle_leaves_that_cycle_out) {
  Water water;
  water.day(0.04, 1.0);
  EXPECT_TRUE(water.cycle(0.04, 1.0));
  water.now += 26h;
  EXPECT_TRUE(water.cycle(0.04, 1.0)) << "the one before the gap was whole";
  EXPECT_FALSE(water.cycle(0.04, 1.0)) << "the begin of this one lies before the gap";
  EXPECT_TRUE(water.cycle(0.04, 1.0));
  EXPECT_FALSE(water.response.today()) << "of the last day too little was seen";
}

TEST(DoseResponse, what_is_no_number_is_left_out_and_forgetting_forgets) {
  Water water;
  water.day(0.04, 1.0);
  water.day(0.04, 1.0);
  const double nan = std::numeric_limits<double>::quiet_NaN();
  (void)water.response.take(water.now, Part::after_doses, water.now, nan, 0.0);
  (void)water.response.take(water.now, Part::after_doses, water.now, 8.2, nan);
  const auto seen = water.response.today();
  ASSERT_TRUE(seen);
  EXPECT_TRUE(std::isfinite(seen->share) && std::isfinite(seen->error));
  water.response.forget();
  EXPECT_FALSE(water.response.today());
}

}  // namespace
}  // namespace limegate::signal
