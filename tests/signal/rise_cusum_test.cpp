#include "signal/rise_cusum.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <vector>

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

namespace limegate::signal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

const Instant kStart{10h};
constexpr double kNaN = std::numeric_limits<double>::quiet_NaN();

TEST(RiseCusum, nothing_learned_is_no_rise) { EXPECT_EQ(RiseCusum{0.03}.rise(kStart, 8.2), 0.0); }

TEST(RiseCusum, a_step_counts_in_full_and_wears_off_at_the_allowance) {
  RiseCusum climb{0.03};
  climb.learn(kStart, 8.0);
  EXPECT_NEAR(climb.rise(kStart, 8.09), 0.09, 1e-12);
  EXPECT_NEAR(climb.rise(kStart + 1h, 8.09), 0.06, 1e-12);
  EXPECT_NEAR(climb.rise(kStart + 3h, 8.09), 0.0, 1e-12);
}

TEST(RiseCusum, a_climb_no_steeper_than_the_allowance_never_shows) {
  RiseCusum climb{0.03};
  for (int minute = 0; minute < 24 * 60; ++minute) {
    const double value = 8.0 + 0.0299 * minute / 60.0;
    climb.learn(kStart + minute * 1min, value);
    ASSERT_LT(climb.rise(kStart + minute * 1min, value), 1e-9) << minute;
  }
}

// By the definition: a ramp passes the threshold after threshold / (slope - allowance).
TEST(RiseCusum, a_noiseless_climb_is_found_after_threshold_over_excess) {
  for (const double slope : {0.05, 0.1, 0.3, 1.0}) {
    RiseCusum climb{0.03};
    int minute = 0;
    for (double value = 8.0; climb.rise(kStart + minute * 1min, value) < 0.06; ++minute) {
      climb.learn(kStart + minute * 1min, value);
      value += slope / 60.0;
    }
    EXPECT_NEAR(minute, 0.06 / (slope - 0.03) * 60.0, 2.0) << slope;
  }
}

TEST(RiseCusum, nan_is_not_learned_and_is_no_rise_that_is_below_a_limit) {
  RiseCusum climb{0.03};
  climb.learn(kStart, kNaN);
  EXPECT_EQ(climb.rise(kStart, 8.0), 0.0);
  climb.learn(kStart, 8.0);
  climb.learn(kStart, kNaN);
  EXPECT_NEAR(climb.rise(kStart, 8.1), 0.1, 1e-12);
  EXPECT_FALSE(climb.rise(kStart, kNaN) < 0.06);
}

RC_GTEST_PROP(RiseCusum, is_the_largest_of_all_differences_less_the_allowance, ()) {
  const auto steps = *rc::gen::container<std::vector<int>>(rc::gen::inRange(-20, 21));
  RiseCusum climb{0.03};
  std::vector<double> values;
  double value = 8.0;
  for (const int step : steps) {
    value += step * 0.001;
    values.push_back(value);
    climb.learn(kStart + static_cast<int>(values.size()) * 1min, value);
  }
  double most = 0.0;
  for (std::size_t i = 0; i < values.size(); ++i) {
    const double hours = static_cast<double>(values.size() - 1 - i) / 60.0;
    most = std::max(most, value - values[i] - 0.03 * hours);
  }
  RC_ASSERT(std::abs(climb.rise(kStart + static_cast<int>(values.size()) * 1min, value) - most) <
            1e-9);
}

}  // namespace
}  // namespace limegate::signal
