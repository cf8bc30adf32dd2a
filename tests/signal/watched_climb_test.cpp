// Whether anybody watched a climb: what is not known is never zero.

#include "signal/watched_climb.h"

#include <gtest/gtest.h>

namespace limegate::signal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

const Instant kStart{10h};

/// Seen and undisturbed, each second, always the same.
void show(WatchedClimb& climb, Instant from, Duration lasting, double value) {
  for (Instant now = from; now < from + lasting; now += 1s) {
    climb.seen(now);
    climb.learn(now, value);
  }
}

TEST(WatchedClimb, is_unknown_until_a_whole_window_was_seen) {
  WatchedClimb climb{{}, std::nullopt};
  EXPECT_FALSE(climb.rise(kStart, 8.2));
  show(climb, kStart, 30min, 8.2);
  EXPECT_FALSE(climb.rise(kStart + 30min - 1s, 8.25));
  EXPECT_EQ(climb.unknown_for(kStart + 29min), 1min);
  ASSERT_TRUE(climb.rise(kStart + 30min, 8.25));
  EXPECT_NEAR(*climb.rise(kStart + 30min, 8.25), 0.05, 1e-9);
}

TEST(WatchedClimb, a_silence_of_a_minute_breaks_nothing) {
  WatchedClimb climb{{}, std::nullopt};
  show(climb, kStart, 40min, 8.2);
  const Instant last = kStart + 40min - 1s;
  climb.seen(last + 60s);
  ASSERT_TRUE(climb.rise(last + 60s, 8.2));
  EXPECT_NEAR(*climb.rise(last + 60s, 8.2), 0.0, 1e-9);
  // The lowest of the window still counts, and no more than that.
  show(climb, last + 60s, 31min, 8.1);
  EXPECT_NEAR(*climb.rise(last + 32min, 8.15), 0.05, 1e-9);
}

TEST(WatchedClimb, after_a_longer_one_the_last_value_before_it_stands_as_the_lowest) {
  WatchedClimb climb{{}, std::nullopt};
  show(climb, kStart, 40min, 8.0);
  const Instant back = kStart + 75min;
  show(climb, back, 29min, 8.2);
  ASSERT_TRUE(climb.rise(back + 1s, 8.2));
  EXPECT_NEAR(*climb.rise(back + 1s, 8.2), 0.2, 1e-9) << "though it lies 35 min back";
  EXPECT_NEAR(*climb.rise(back + 29min, 8.2), 0.2, 1e-9);
  show(climb, back + 29min, 2min, 8.2);
  EXPECT_NEAR(*climb.rise(back + 31min, 8.2), 0.0, 1e-9) << "a whole window was seen";
}

TEST(WatchedClimb, the_lower_of_two_values_before_two_silences_stands) {
  WatchedClimb climb{{}, std::nullopt};
  show(climb, kStart, 40min, 8.0);
  show(climb, kStart + 45min, 5min, 8.1);
  const Instant again = kStart + 55min;
  show(climb, again, 1min, 8.2);
  EXPECT_NEAR(*climb.rise(again + 1min, 8.2), 0.2, 1e-9);
}

TEST(WatchedClimb, a_value_of_before_the_start_stands_if_it_is_young_enough) {
  WatchedClimb young{{}, WatchedClimb::Past{kStart - 30min, 8.0, 8.0}};
  young.seen(kStart);
  ASSERT_TRUE(young.rise(kStart, 8.2));
  EXPECT_NEAR(*young.rise(kStart, 8.2), 0.2, 1e-9);
  WatchedClimb old{{}, WatchedClimb::Past{kStart - 30min - 1ns, 8.0, 8.0}};
  old.seen(kStart);
  EXPECT_FALSE(old.rise(kStart, 8.2));
}

TEST(WatchedClimb, what_was_only_disturbed_is_no_silence_and_no_value) {
  WatchedClimb climb{{}, std::nullopt};
  show(climb, kStart, 40min, 8.2);
  for (Instant now = kStart + 40min; now < kStart + 56min; now += 1s) {
    climb.seen(now);  // a stir of a quarter of an hour
  }
  EXPECT_NEAR(*climb.rise(kStart + 56min, 8.25), 0.05, 1e-9);
}

}  // namespace
}  // namespace limegate::signal
