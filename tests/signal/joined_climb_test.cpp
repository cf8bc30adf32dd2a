// One climb, three judges: each slope is found by the one that is best at it, and what ended wears
// off by itself. The limit is the shipped one, of the slow judge.

#include "signal/joined_climb.h"

#include <cmath>
#include <functional>
#include <limits>
#include <optional>
#include <ostream>
#include <utility>
#include <vector>

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "signal/fading_mean.h"

namespace limegate::signal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

const Instant kStart{100h};
constexpr double kLimit = 0.088, kAllowance = 0.12;
constexpr double kNan = std::numeric_limits<double>::quiet_NaN();

double hours(Duration passed) {
  return std::chrono::duration<double, std::ratio<3600>>(passed).count();
}

/// A calm day, then this course from `kStart` on, a value each ten seconds.
struct Course {
  explicit Course(std::function<double(Duration)> shown) : value(std::move(shown)) {
    pass(kStart - 24h, kStart, [](Duration) { return 8.2; });
  }
  void pass(Instant from, Instant to, const std::function<double(Duration)>& shown) {
    for (Instant now = from; now < to; now += 10s) {
      climb.learn(now, shown(now - kStart));
      newest = now;
    }
  }
  struct Found {
    Duration after;
    Pace pace;
  };
  std::optional<Found> found(Duration within) {
    for (Instant now = kStart; now < kStart + within; now += 10s) {
      newest = now;
      climb.learn(now, value(now - kStart));
      const auto strongest = climb.strongest(now, value(now - kStart));
      if (strongest.climb >= kLimit) {
        return Found{now - kStart, strongest.pace};
      }
    }
    return std::nullopt;
  }
  std::function<double(Duration)> value;
  JoinedClimb climb{kAllowance};
  Instant newest;
};

struct Slope {
  const char* name;
  double ph_per_h;
  Duration from, to;  ///< when it must be found
  Pace pace;
};
std::ostream& operator<<(std::ostream& out, const Slope& row) { return out << row.name; }
/// Without noise: limit over slope less allowance, and what the means lag behind. Arithmetic.
const Slope kSlopes[] = {
    {"a_pump_that_is_stuck_on", 1.0, 200s, 290s, Pace::quick},
    {"a_quick_one", 0.3, 15min, 20min, Pace::quick},
    {"a_slow_one", 0.1, 60min, 66min, Pace::slow},
    {"a_slower_one", 0.05, 112min, 120min, Pace::slow},
    {"one_of_hours", 0.025, 5h, 7h, Pace::lasting},
};
class ClimbTable : public testing::TestWithParam<Slope> {};
INSTANTIATE_TEST_SUITE_P(Slopes, ClimbTable, testing::ValuesIn(kSlopes),
                         [](const auto& row) { return std::string{row.param.name}; });

TEST_P(ClimbTable, is_found_in_time_by_the_judge_that_is_best_at_it) {
  Course course{[](Duration passed) { return 8.2 + GetParam().ph_per_h * hours(passed); }};
  const auto found = course.found(24h);
  ASSERT_TRUE(found);
  EXPECT_GE(found->after, GetParam().from);
  EXPECT_LE(found->after, GetParam().to);
  EXPECT_EQ(found->pace, GetParam().pace);
}

TEST(JoinedClimb, before_anything_is_learned_there_is_none) {
  EXPECT_EQ(JoinedClimb{kAllowance}.strongest(kStart, 8.2).climb, 0.0);
}

TEST(JoinedClimb, a_creeping_change_of_a_hundredth_a_day_never_shows) {
  Course course{[](Duration passed) { return 8.2 + 0.01 / 24.0 * hours(passed); }};
  EXPECT_FALSE(course.found(24h * 30));
}

TEST(JoinedClimb, a_fall_is_no_climb) {
  Course course{[](Duration passed) { return 8.2 - 0.1 * hours(passed); }};
  EXPECT_FALSE(course.found(10h));
  EXPECT_EQ(course.climb.strongest(kStart + 10h, 7.2).climb, 0.0);
}

// A hold clears below two thirds of the limit.
// The air takes back in hours what was added (UsualCourse::kFades).
TEST(JoinedClimb, what_was_added_at_once_wears_off_within_three_hours) {
  Course course{[](Duration passed) { return 8.2 + 0.1 * std::exp(-hours(passed) / 4.0); }};
  ASSERT_TRUE(course.found(1h));
  course.pass(course.newest + 10s, kStart + 3h, course.value);
  EXPECT_LT(course.climb.strongest(course.newest, course.value(3h)).climb, kLimit * 2.0 / 3.0);
}

TEST(JoinedClimb, it_does_within_a_day_though_it_stays) {
  Course course{[](Duration) { return 8.3; }};
  ASSERT_TRUE(course.found(1h));
  course.pass(course.newest + 10s, kStart + 24h, course.value);
  EXPECT_LT(course.climb.strongest(course.newest, 8.3).climb, kLimit * 2.0 / 3.0);
}

TEST(JoinedClimb, so_does_what_was_far_above_for_days) {
  Course course{[](Duration) { return 8.4; }};
  course.pass(kStart, kStart + 12h, course.value);
  EXPECT_EQ(course.climb.strongest(kStart + 12h, 8.4).pace, Pace::lasting);
  EXPECT_GE(course.climb.strongest(kStart + 12h, 8.4).climb, kLimit);
  course.pass(kStart + 12h, kStart + 72h, course.value);
  EXPECT_LT(course.climb.strongest(kStart + 72h, 8.4).climb, kLimit * 2.0 / 3.0);
}

TEST(JoinedClimb, one_noisy_value_is_none_and_a_minute_of_them_is) {
  Course course{[](Duration) { return 8.2; }};
  course.pass(kStart, kStart + 1h, course.value);
  EXPECT_LT(course.climb.strongest(course.newest + 10s, 8.35).climb, kLimit);
  // A disturbed value is not learned; it may close all the same.
  EXPECT_GE(course.climb.strongest(course.newest + 60s, 8.35).climb, kLimit);
}

TEST(JoinedClimb, what_is_not_a_number_is_a_climb_of_that_and_is_not_learned) {
  Course course{[](Duration) { return 8.2; }};
  course.climb.learn(kStart, kNan);
  course.climb.learn(kStart, std::numeric_limits<double>::infinity());
  EXPECT_EQ(course.climb.strongest(kStart, 8.2).climb, 0.0);
  EXPECT_TRUE(std::isnan(course.climb.strongest(kStart, kNan).climb));
  EXPECT_TRUE(std::isnan(JoinedClimb{kAllowance}.strongest(kStart, kNan).climb));
}

TEST(JoinedClimb, after_a_silence_the_last_value_before_it_stands_as_the_lowest) {
  Course course{[](Duration) { return 8.2; }};
  const Instant back = course.newest + 3h;
  EXPECT_GE(course.climb.strongest(back, 8.3).climb, kLimit);
  course.pass(back, back + 119min, [](Duration) { return 8.3; });
  EXPECT_GE(course.climb.strongest(course.newest, 8.3).climb, kLimit);
  course.pass(back + 119min, back + 122min, [](Duration) { return 8.3; });
  EXPECT_LT(course.climb.strongest(course.newest, 8.3).climb, kLimit);
  EXPECT_EQ(course.climb.strongest(course.newest, 8.3).pace, Pace::lasting);
}

TEST(JoinedClimb, a_new_run_goes_on_from_what_an_earlier_one_saw) {
  JoinedClimb climb{kAllowance};
  climb.take_up(kStart, 8.3, 0.08);
  EXPECT_NEAR(climb.strongest(kStart, 8.3).climb, 0.08, 1e-9);
  EXPECT_GE(climb.strongest(kStart + 10min, 8.33).climb, kLimit);
}

RC_GTEST_PROP(JoinedClimb, a_higher_value_is_never_less_of_a_climb, ()) {
  JoinedClimb climb{kAllowance};
  const auto values = *rc::gen::container<std::vector<int>>(40, rc::gen::inRange(0, 200));
  Instant now = kStart;
  for (const int value : values) {
    now += std::chrono::minutes{*rc::gen::element(1, 2, 45)};
    const double ph = 8.0 + value * 0.002;
    RC_ASSERT(climb.strongest(now, ph).climb <= climb.strongest(now, ph + 0.01).climb);
    climb.learn(now, ph);
    RC_ASSERT(climb.strongest(now, ph).climb >= 0.0);
  }
}

TEST(FadingMean, begins_at_the_first_value_and_weighs_by_time) {
  FadingMean mean{10min};
  mean.learn(kStart, 8.0);
  EXPECT_EQ(mean.mean(), 8.0);
  EXPECT_NEAR(mean.with(kStart + 10min, 9.0), 8.5, 1e-12) << "as long as the mean itself: half";
  EXPECT_EQ(mean.mean(), 8.0);
  mean.learn(kStart + 10min, 9.0);
  EXPECT_NEAR(mean.mean(), 8.5, 1e-12);
  EXPECT_TRUE(std::isnan(mean.with(kStart + 10min, kNan)));
}

}  // namespace
}  // namespace limegate::signal
