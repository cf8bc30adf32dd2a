#include "signal/conditioner.h"

#include <cmath>
#include <deque>
#include <limits>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

namespace limegate::signal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

constexpr double kNan = std::numeric_limits<double>::quiet_NaN();
constexpr double kInf = std::numeric_limits<double>::infinity();
const Instant kStart{1h};

/// A pH probe with one sample a second unless a test says otherwise.
class ConditionerTest : public testing::Test {
 protected:
  ConditionerTest() : probe(conditioning()) {}

  static Conditioning conditioning() {
    Conditioning conditioning;
    conditioning.plausible_low = 7.0;
    conditioning.plausible_high = 9.2;
    return conditioning;
  }
  void sample(double value, Duration after = 1s) {
    now += after;
    probe.accept(value, {now, WallTime{}});
  }
  void expect(Quality quality, Reason reason) const {
    const Reading reading = probe.reading(now);
    EXPECT_STREQ(name_of(reading.quality), name_of(quality));
    EXPECT_STREQ(name_of(reading.reason), name_of(reason));
  }
  void expect_good() const { expect(Quality::good, Reason::none); }

  Conditioner probe;
  Instant now = kStart;
};

TEST_F(ConditionerTest, what_was_never_seen_is_missing) {
  expect(Quality::bad, Reason::missing);
  probe.accept_fault();
  expect(Quality::bad, Reason::missing);
}

TEST_F(ConditionerTest, the_plausible_range_includes_both_ends) {
  sample(7.0);
  expect_good();
  EXPECT_TRUE(probe.plausible(7.0));
  EXPECT_TRUE(probe.plausible(9.2));
  EXPECT_FALSE(probe.plausible(std::nextafter(7.0, 0.0)));
  EXPECT_FALSE(probe.plausible(std::nextafter(9.2, 10.0)));
  EXPECT_FALSE(probe.plausible(kNan));
  EXPECT_FALSE(probe.plausible(kInf));
  EXPECT_FALSE(probe.plausible(-kInf));
}

TEST_F(ConditionerTest, an_implausible_value_is_bad_and_then_unsteady) {
  sample(8.2);
  sample(6.99);
  expect(Quality::bad, Reason::implausible);
  EXPECT_EQ(probe.reading(now).newest, 6.99);
  EXPECT_EQ(probe.reading(now).value, 8.2);
  sample(8.2);
  expect(Quality::uncertain, Reason::unsteady);
}

TEST_F(ConditionerTest, not_a_number_and_infinities_are_bad) {
  for (const double value : {kNan, kInf, -kInf}) {
    sample(8.2);
    sample(value);
    expect(Quality::bad, Reason::not_a_number);
  }
}

TEST_F(ConditionerTest, a_sample_exactly_at_the_age_limit_is_fresh_and_a_tick_later_stale) {
  sample(8.2);
  now += 10s;
  expect_good();
  now += 1ns;
  expect(Quality::bad, Reason::stale);
}

TEST_F(ConditionerTest, a_sample_from_the_future_is_stale) {
  sample(8.2);
  now -= 1ns;
  expect(Quality::bad, Reason::stale);
  EXPECT_LT(probe.reading(now).age, 0s);
}

TEST_F(ConditionerTest, faults_leave_the_value_until_it_is_too_old_and_then_give_the_reason) {
  sample(8.2);
  probe.accept_fault();
  expect_good();
  now += 10s + 1ns;
  expect(Quality::bad, Reason::no_communication);
  sample(8.21);
  expect_good();
  now += 11s;
  expect(Quality::bad, Reason::stale);
}

TEST_F(ConditionerTest, the_value_is_the_median_of_the_newest_five) {
  sample(8.20);
  EXPECT_EQ(probe.reading(now).value, 8.20);
  sample(8.24);
  EXPECT_NEAR(probe.reading(now).value, 8.22, 1e-12);  // of two, the mean
  sample(8.21);
  EXPECT_EQ(probe.reading(now).value, 8.21);
  sample(8.30);
  EXPECT_NEAR(probe.reading(now).value, 8.225, 1e-12);  // (8.21 + 8.24) / 2
  sample(8.22);
  EXPECT_EQ(probe.reading(now).value, 8.22);
  sample(8.25);  // 8.20 leaves: 8.21 8.22 8.24 8.25 8.30
  EXPECT_EQ(probe.reading(now).value, 8.24);
  EXPECT_EQ(probe.reading(now).newest, 8.25);
}

TEST_F(ConditionerTest, one_outlier_below_the_jump_does_not_move_the_median) {
  for (int i = 0; i < 4; ++i) {
    sample(8.2);
  }
  sample(8.45);
  EXPECT_EQ(probe.reading(now).value, 8.2);
  expect_good();
}

TEST_F(ConditionerTest, a_value_that_does_not_change_is_stuck_after_exactly_three_hours) {
  sample(8.2);
  const Instant since = now;
  while (now + 5s < since + 3h) {
    sample(8.2, 5s);
  }
  sample(8.2, since + 3h - 1ns - now);
  expect_good();
  now += 1ns;
  expect(Quality::bad, Reason::stuck);
  EXPECT_EQ(probe.reading(now).lasting, 3h);
  sample(8.21);
  expect_good();
}

TEST_F(ConditionerTest, less_than_half_a_digit_is_no_change_and_half_a_digit_is) {
  sample(8.0);
  const Instant since = now;
  sample(8.0 + 0.00499, 3h - 1s);
  now = since + 3h;
  expect(Quality::bad, Reason::stuck);
  sample(8.0 + 0.0051);
  expect_good();
}

TEST_F(ConditionerTest, a_drift_in_steps_below_half_a_digit_is_a_change_when_it_adds_up) {
  sample(8.0);
  const Instant since = now;
  sample(8.004, 1h);
  sample(8.008, 1h);
  now = since + 3h;
  sample(8.008, 0s);
  expect_good();
}

TEST_F(ConditionerTest, a_jump_of_exactly_the_limit_is_unsteady_and_less_is_not) {
  Conditioning conditioning = ConditionerTest::conditioning();
  conditioning.jump = 0.25;  // exact in binary
  probe = Conditioner{conditioning};
  sample(8.0);
  sample(std::nextafter(8.25, 0.0));
  expect_good();
  sample(8.25);
  expect(Quality::uncertain, Reason::unsteady);
}

TEST_F(ConditionerTest, a_fall_is_a_jump_too) {
  sample(8.4);
  sample(8.05);
  expect(Quality::uncertain, Reason::unsteady);
}

TEST_F(ConditionerTest, a_slow_change_is_no_jump_and_one_within_the_window_is) {
  sample(8.0);
  sample(8.1, 15s);
  sample(8.2, 15s);
  sample(8.29, 15s);  // 8.0 is 45 s old; 8.1 is compared
  expect_good();
  sample(8.41, 1s);  // 8.1 is 31 s old and still the last before the window: 0.31
  expect(Quality::uncertain, Reason::unsteady);
}

TEST_F(ConditionerTest, a_slowly_polled_probe_is_compared_with_the_last_sample_before_the_window) {
  sample(8.0);
  sample(8.35, 10min);
  expect(Quality::uncertain, Reason::unsteady);
}

TEST_F(ConditionerTest, it_is_steady_again_exactly_after_five_minutes) {
  sample(8.0);
  sample(8.4);
  const Instant jumped = now;
  EXPECT_EQ(probe.reading(now).lasting, 5min);
  while (now + 1s < jumped + 5min) {
    sample(8.4 + ((now - jumped) % 2s == 0s ? 0.01 : 0.0));
  }
  sample(8.4, jumped + 5min - 1ns - now);
  expect(Quality::uncertain, Reason::unsteady);
  EXPECT_EQ(probe.reading(now).lasting, 1ns);
  now += 1ns;
  expect_good();
}

TEST_F(ConditionerTest, after_a_jump_the_median_does_not_lag_behind) {
  for (int i = 0; i < 5; ++i) {
    sample(8.0);
  }
  sample(8.4);
  EXPECT_EQ(probe.reading(now).value, 8.4);
}

TEST_F(ConditionerTest, an_implausible_value_makes_it_wait_from_its_own_time) {
  sample(8.2);
  sample(kNan);
  const Instant spoiled = now;
  sample(8.2);
  now = spoiled + 5min - 1ns;
  probe.accept(8.21, {now, {}});
  expect(Quality::uncertain, Reason::unsteady);
  now += 1ns;
  expect_good();
}

RC_GTEST_PROP(Conditioner, good_is_only_what_is_fresh_plausible_and_moving, ()) {
  Conditioning conditioning;
  conditioning.plausible_low = 7.0;
  conditioning.plausible_high = 9.2;
  conditioning.stuck_after = 60s;
  Conditioner probe{conditioning};
  Instant now = kStart;
  const auto steps = *rc::gen::container<std::vector<std::pair<double, int>>>(
      rc::gen::pair(rc::gen::element(8.0, 8.01, 8.1, 8.35, 6.9, 9.3, kNan, kInf),
                    rc::gen::element(1, 2, 9, 11, 40)));
  for (const auto& [value, seconds] : steps) {
    now += std::chrono::seconds{seconds};
    probe.accept(value, {now, {}});
    const Duration later = *rc::gen::element<Duration>(-1s, 0s, 10s, 11s, 61s);
    const Reading reading = probe.reading(now + later);
    if (reading.quality == Quality::good) {
      RC_ASSERT(later >= 0s && later <= 10s);
      RC_ASSERT(value >= 7.0 && value <= 9.2);
      RC_ASSERT(reading.value >= 7.0 && reading.value <= 9.2);
    }
  }
}

// The window's extremes are kept as it moves: they must say what a look at every sample says.
RC_GTEST_PROP(Conditioner, jumps_are_those_of_a_look_at_every_sample, ()) {
  Conditioning conditioning;
  conditioning.plausible_low = 7.0;
  conditioning.plausible_high = 9.2;
  conditioning.jump = 0.25;  // exact in binary, as the values are
  Conditioner probe{conditioning};
  std::deque<std::pair<Instant, double>> window;
  std::optional<Instant> jumped;
  Instant now = kStart;
  const auto steps = *rc::gen::container<std::vector<std::pair<int, int>>>(
      400, rc::gen::pair(rc::gen::inRange(0, 6), rc::gen::element(1, 1, 1, 5, 20, 31, 70)));
  for (const auto& [eighths, seconds] : steps) {
    now += std::chrono::seconds{seconds};
    const double value = 8.0 + eighths * 0.0625;
    while (window.size() > 1 && now - window[1].first > conditioning.jump_window) {
      window.pop_front();
    }
    for (const auto& [at, past] : window) {
      if (std::abs(value - past) >= conditioning.jump) {
        jumped = now;
      }
    }
    if (jumped == now) {
      window.clear();
    }
    window.emplace_back(now, value);
    probe.accept(value, {now, {}});
    const bool unsteady = jumped && now < *jumped + conditioning.steady_for;
    RC_ASSERT((probe.reading(now).reason == Reason::unsteady) == unsteady);
  }
}

}  // namespace
}  // namespace limegate::signal
