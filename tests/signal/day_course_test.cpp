#include "signal/day_course.h"

#include <cmath>
#include <functional>
#include <limits>
#include <numbers>
#include <vector>

#include <gtest/gtest.h>

namespace limegate::signal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

/// Midnight of a day, and a monotonic clock that began at another time.
const Moment kMidnight{Instant{5h}, WallTime{24h * 20454}};

double hour_of(WallTime at) {
  return std::chrono::duration<double, std::ratio<3600>>(at.time_since_epoch() % 24h).count();
}

/// A tank's day: lowest in the morning, highest in the evening, 0.3 pH in all.
double day_of(WallTime at) {
  return 8.2 - 0.15 * std::cos(2.0 * std::numbers::pi * (hour_of(at) - 7.0) / 24.0);
}

class Days {
 public:
  explicit Days(DayCourse& course) : course_(course) {}

  /// Every minute of so many days.
  void pass(int days, const std::function<double(WallTime)>& value) {
    for (int minute = 0; minute < days * 24 * 60; ++minute) {
      if (seen(now.wall)) {
        const auto news = course_.learn(now, value(now.wall));
        if (news && news->move) {
          moves.push_back(*news->move);
        }
        faded += news ? static_cast<int>(news->faded.size()) : 0;
      }
      now.mono += 1min;
      now.wall += 1min;
    }
  }

  Moment now = kMidnight;
  std::vector<DayCourse::Move> moves;
  int faded = 0;
  std::function<bool(WallTime)> seen = [](WallTime) { return true; };

 private:
  DayCourse& course_;
};

// Found by two years of a simulated tank: after a move the quarters hidden by the stirrer kept for
// ever what their neighbours had been.
TEST(DayCourse, forgets_a_quarter_that_is_no_longer_seen) {
  DayCourse course;
  Days days{course};
  days.pass(14, day_of);
  const WallTime noon = kMidnight.wall + 12h + 7min;
  days.seen = [](WallTime at) {
    return at.time_since_epoch() % 24h < 12h || at.time_since_epoch() % 24h >= 12h + 15min;
  };
  for (int day = 0; day < 40; ++day) {
    days.pass(1, [&](WallTime at) { return day_of(at) + 0.003 * day; });
  }
  EXPECT_NEAR(*course.usual(noon), *course.usual(noon + 16min), 0.02);
  EXPECT_NEAR(*course.usual(noon), *course.usual(noon - 16min), 0.02);
  EXPECT_TRUE(course.learned());
  // It is told, so that a restart does not bring the old value back.
  EXPECT_EQ(course.quarters()[48].days, 0);
  EXPECT_EQ(days.faded, DayCourse::kMemoryDays);
}

TEST(DayCourse, forgets_nothing_while_little_of_the_day_is_seen) {
  DayCourse course;
  Days days{course};
  days.pass(14, day_of);
  days.seen = [](WallTime at) { return at.time_since_epoch() % 24h < 8h; };
  days.pass(30, day_of);
  EXPECT_EQ(course.quarters()[48].days, DayCourse::kMemoryDays);
  EXPECT_EQ(days.faded, 0);
}

TEST(DayCourse, knows_nothing_before_it_learned) {
  const DayCourse course;
  EXPECT_FALSE(course.learned());
  EXPECT_EQ(course.days_to_go(), DayCourse::kLearnedDays);
  EXPECT_EQ(course.usual(kMidnight.wall), std::nullopt);
}

TEST(DayCourse, is_learned_after_a_week_and_not_before) {
  DayCourse course;
  Days days{course};
  days.pass(6, day_of);
  EXPECT_FALSE(course.learned());
  EXPECT_EQ(course.days_to_go(), 1);
  days.pass(1, day_of);
  (void)course.learn(days.now, 8.2);
  EXPECT_TRUE(course.learned());
  EXPECT_EQ(course.days_to_go(), 0);
}

TEST(DayCourse, follows_the_day_within_its_quarters) {
  DayCourse course;
  Days days{course};
  days.pass(8, day_of);
  for (WallTime at = kMidnight.wall; at < kMidnight.wall + 24h; at += 7min) {
    const auto usual = course.usual(at);
    ASSERT_TRUE(usual);
    EXPECT_NEAR(*usual, day_of(at), 0.001) << hour_of(at);
  }
}

TEST(DayCourse, is_the_mean_of_the_days_and_then_forgets_by_a_fourteenth) {
  DayCourse course;
  Days days{course};
  for (int day = 0; day < 14; ++day) {
    days.pass(1, [&](WallTime) { return day % 2 == 0 ? 8.0 : 8.2; });
  }
  days.pass(1, [](WallTime) { return 8.1; });
  EXPECT_NEAR(*course.usual(kMidnight.wall + 12h), 8.1, 1e-9);
  days.pass(1, [](WallTime) { return 8.14; });
  EXPECT_NEAR(*course.usual(kMidnight.wall + 12h), 8.1 + 0.04 / 14, 1e-9);
}

TEST(DayCourse, a_quarter_that_is_always_hidden_takes_its_neighbours) {
  DayCourse course;
  Days days{course};
  days.seen = [](WallTime at) { return at.time_since_epoch() % 2h >= 16min; };
  days.pass(8, day_of);
  EXPECT_TRUE(course.learned());
  EXPECT_NEAR(*course.usual(kMidnight.wall + 7min), day_of(kMidnight.wall + 7min), 0.01);
}

TEST(DayCourse, more_than_an_hour_without_is_not_known) {
  DayCourse course;
  Days days{course};
  days.seen = [](WallTime at) { return hour_of(at) >= 4.0; };
  days.pass(10, day_of);
  EXPECT_FALSE(course.learned());
  EXPECT_EQ(course.usual(kMidnight.wall + 2h), std::nullopt);
}

TEST(DayCourse, a_quarter_seen_for_less_than_three_minutes_is_not_learned) {
  DayCourse course;
  Moment now = kMidnight;
  for (int second = 0; second < 179; ++second, now.mono += 1s, now.wall += 1s) {
    (void)course.learn(now, 8.2);
  }
  EXPECT_FALSE(course.learn({kMidnight.mono + 15min, kMidnight.wall + 15min}, 8.2));
  EXPECT_EQ(course.quarters()[0].days, 0);
}

/// Days of a quarter in whose middle the wall clock was stepped by so much, by two minutes each
/// side.
int learned_over_a_step(Duration step) {
  DayCourse course;
  Moment now = kMidnight;
  for (int minute = 0; minute < 2; ++minute, now.mono += 1min, now.wall += 1min) {
    (void)course.learn(now, 8.2);
  }
  now.wall += step;  // within the same quarter
  for (int minute = 0; minute < 2; ++minute, now.mono += 1min, now.wall += 1min) {
    (void)course.learn(now, 8.4);
  }
  (void)course.learn({now.mono + 15min, now.wall + 15min}, 8.2);
  return course.quarters()[0].days;
}

TEST(DayCourse, a_stepped_clock_divides_what_was_gathered) {
  EXPECT_EQ(learned_over_a_step(5min), 0);
  EXPECT_EQ(learned_over_a_step(2s + 1ns), 0);
  EXPECT_EQ(learned_over_a_step(2s), 1) << "that is how clocks are kept right";
  EXPECT_EQ(learned_over_a_step(-2s), 1);
  EXPECT_EQ(learned_over_a_step(-2s - 1ns), 0);
}

TEST(DayCourse, nan_is_not_learned) {
  DayCourse course;
  Days days{course};
  days.pass(8, [](WallTime at) {
    return hour_of(at) < 12.0 && at.time_since_epoch() % 3min == 0s
               ? std::numeric_limits<double>::quiet_NaN()
               : 8.2;
  });
  EXPECT_TRUE(course.learned());
  EXPECT_NEAR(*course.usual(kMidnight.wall + 6h), 8.2, 1e-9);
}

TEST(DayCourse, goes_on_from_what_was_stored_and_believes_no_nonsense) {
  DayCourse course;
  Days days{course};
  days.pass(8, day_of);
  DayCourse::Quarters stored = course.quarters();
  EXPECT_TRUE(DayCourse{stored}.learned());
  EXPECT_EQ(DayCourse{stored}.usual(kMidnight.wall), course.usual(kMidnight.wall));
  stored[3].days = 99;
  stored[4].days = -1;
  stored[5].mean = std::numeric_limits<double>::infinity();
  const DayCourse read{stored};
  for (const std::size_t quarter : {3U, 4U, 5U}) {
    EXPECT_EQ(read.quarters()[quarter], DayCourse::Quarter{});
  }
}

TEST(DayCourse, lights_that_moved_move_the_course_after_two_days) {
  DayCourse course;
  Days days{course};
  days.pass(14, day_of);
  days.pass(4, [](WallTime at) { return day_of(at - 2h); });
  ASSERT_EQ(days.moves.size(), 1U);
  EXPECT_NEAR(days.moves[0].quarters, 8, 1) << "two days have pulled the course along already";
  EXPECT_EQ(days.moves[0].offset, 0.0);
  EXPECT_NEAR(*course.usual(days.now.wall + 9h), day_of(days.now.wall + 7h), 0.03);
}

TEST(DayCourse, a_new_calibration_moves_it_by_its_offset) {
  DayCourse course;
  Days days{course};
  days.pass(14, day_of);
  days.pass(4, [](WallTime at) { return day_of(at) - 0.12; });
  ASSERT_EQ(days.moves.size(), 1U);
  EXPECT_EQ(days.moves[0].quarters, 0);
  EXPECT_NEAR(days.moves[0].offset, -0.12, 0.02);
}

TEST(DayCourse, one_odd_day_moves_nothing) {
  DayCourse course;
  Days days{course};
  days.pass(14, day_of);
  days.pass(1, [](WallTime at) { return day_of(at) + 0.15; });
  days.pass(3, day_of);
  EXPECT_TRUE(days.moves.empty());
}

}  // namespace
}  // namespace limegate::signal
