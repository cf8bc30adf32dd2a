#include "signal/climb.h"

#include <cmath>
#include <limits>

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

namespace limegate::signal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

const Instant kStart{10h};

TEST(Climb, nothing_learned_is_no_rise) { EXPECT_EQ(Climb(30min).rise(kStart, 8.2), 0.0); }

TEST(Climb, is_the_value_above_the_lowest_minute) {
  Climb climb{30min};
  climb.learn(kStart, 8.25);
  climb.learn(kStart + 5min, 8.125);
  climb.learn(kStart + 10min, 8.5);
  EXPECT_EQ(climb.rise(kStart + 11min, 8.375), 0.25);
}

TEST(Climb, a_minute_is_the_mean_of_its_samples) {
  Climb climb{30min};
  climb.learn(kStart, 8.0);
  climb.learn(kStart + 59s, 8.25);  // mean 8.125
  EXPECT_EQ(climb.rise(kStart + 1min, 8.25), 0.125);
}

TEST(Climb, a_falling_value_is_no_rise) {
  Climb climb{30min};
  climb.learn(kStart, 8.25);
  EXPECT_EQ(climb.rise(kStart + 1min, 8.0), 0.0);
}

TEST(Climb, the_window_reaches_back_to_the_minute_thirty_minutes_ago_and_no_further) {
  Climb climb{30min};
  climb.learn(kStart + 59s, 8.0);
  // kStart is a whole minute: its minute is number n, and 30 min later begins n + 30.
  EXPECT_EQ(climb.rise(kStart + 30min + 59s, 8.25), 0.25);
  EXPECT_EQ(climb.rise(kStart + 31min, 8.25), 0.0);
}

TEST(Climb, a_gap_forgets_nothing_within_the_window) {
  Climb climb{30min};
  climb.learn(kStart, 8.0);
  EXPECT_EQ(climb.rise(kStart + 29min, 8.25), 0.25);
}

TEST(Climb, what_lies_a_whole_ring_back_is_not_taken_for_fresh) {
  Climb climb{120min};
  climb.learn(kStart, 8.0);
  EXPECT_EQ(climb.rise(kStart + 120min, 8.25), 0.25);
  EXPECT_EQ(climb.rise(kStart + 121min, 8.25), 0.0);
  climb.learn(kStart + 121min, 8.5);  // the same place in the ring
  EXPECT_EQ(climb.rise(kStart + 121min, 8.75), 0.25);
}

TEST(Climb, windows_are_cut_to_between_a_minute_and_two_hours) {
  Climb longest{10h};
  longest.learn(kStart, 8.0);
  EXPECT_EQ(longest.rise(kStart + 120min, 8.25), 0.25);
  EXPECT_EQ(longest.rise(kStart + 121min, 8.25), 0.0);
  Climb shortest{0s};
  shortest.learn(kStart, 8.0);
  EXPECT_EQ(shortest.rise(kStart + 1min, 8.25), 0.25);
  EXPECT_EQ(shortest.rise(kStart + 2min, 8.25), 0.0);
  Climb rounded_up{90s};
  rounded_up.learn(kStart, 8.0);
  EXPECT_EQ(rounded_up.rise(kStart + 2min, 8.25), 0.25);
}

TEST(Climb, a_minute_from_the_future_is_not_looked_at) {
  Climb climb{30min};
  climb.learn(kStart + 5min, 8.0);
  EXPECT_EQ(climb.rise(kStart, 8.25), 0.0);
}

TEST(Climb, the_rise_of_what_is_not_a_number_is_not_a_number) {
  Climb climb{30min};
  climb.learn(kStart, 8.0);
  EXPECT_TRUE(std::isnan(climb.rise(kStart, std::numeric_limits<double>::quiet_NaN())));
}

RC_GTEST_PROP(Climb, one_sample_a_minute_gives_the_lowest_of_the_window, ()) {
  Climb climb{30min};
  const auto values = *rc::gen::container<std::vector<double>>(
      120, rc::gen::element(8.0, 8.0625, 8.125, 8.25, 8.5));
  Instant now = kStart;
  for (std::size_t i = 0; i < values.size(); ++i) {
    now = kStart + std::chrono::minutes{i};
    climb.learn(now, values[i]);
    double lowest = values[i];
    for (std::size_t back = 0; back <= 30 && back <= i; ++back) {
      lowest = std::min(lowest, values[i - back]);
    }
    RC_ASSERT(climb.rise(now, values[i]) == values[i] - lowest);
  }
}

}  // namespace
}  // namespace limegate::signal
