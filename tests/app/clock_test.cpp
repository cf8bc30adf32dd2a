#include <gtest/gtest.h>

#include "app/bench.h"

namespace limegate::test {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

/// The day's volume and one pulse: a hold that ends in the middle of a slot moves a pulse within
/// it.
constexpr Rules kRules{20min, 348.0, 600.0 + 12.5};

/// A small allowance that a few hours use up, so that every volume freed too early shows at once.
Bench::Plan tight_plan() {
  Bench::Plan plan;
  plan.day_volume_ml = 600;
  plan.max_pulse_ml = 12.5;
  plan.poll_s = 5;
  return plan;
}

TEST(ClockSteps, free_no_volume_in_either_direction) {
  Bench bench{tight_plan()};
  bench.prepare();
  bench.start();
  ASSERT_TRUE(bench.let_pass(26h)) << bench.log();
  for (const Duration step :
       {Duration{5min}, Duration{-7min}, Duration{25h}, Duration{-26h}, Duration{24h * 365 * 3},
        Duration{-24h * 365 * 40}, Duration{1h}, Duration{24h * 365 * 37}}) {
    bench.clock().step_wall(step);
    ASSERT_TRUE(bench.let_pass(3h)) << bench.log();
  }
  EXPECT_EQ(bench.stop(), 0);
  const auto found = violations(bench.slave().log(), kRules);
  EXPECT_TRUE(found.empty()) << found.size() << " violations, the first: " << found.front();
}

TEST(ClockSteps, back_by_six_hours_do_not_hold_healthy_dosing) {
  Bench bench{tight_plan()};
  bench.prepare();
  bench.start();
  ASSERT_TRUE(bench.let_pass(26h)) << bench.log();
  const double before = bench.delivered_ml();
  ASSERT_TRUE(bench.let_pass(8h)) << bench.log();
  const double steady = bench.delivered_ml() - before;
  bench.clock().step_wall(-6h);
  ASSERT_TRUE(bench.let_pass(8h)) << bench.log();
  EXPECT_GE(bench.delivered_ml() - before - steady, steady - 25.0);
  EXPECT_EQ(bench.stop(), 0);
}

TEST(ClockSteps, on_a_machine_that_is_up_for_a_month_a_ledger_frees_nothing) {
  Bench bench{tight_plan()};
  bench.prepare();
  bench.start();
  ASSERT_TRUE(bench.let_pass(25h)) << bench.log();
  bench.kill();
  EXPECT_EQ(bench.off(), 0);
  // The same wall clock an hour later, another boot that has lasted for thirty days.
  bench.clock().reboot(bench.clock().now().wall + 1h, 24h * 30);
  const double before = bench.delivered_ml();
  bench.start();
  ASSERT_TRUE(bench.let_pass(90min)) << bench.log();
  EXPECT_LE(bench.delivered_ml() - before, 37.5 + 12.5) << "an hour and a half of the day's 600 mL";
  EXPECT_EQ(bench.stop(), 0);
}

TEST(ClockSteps, in_the_middle_of_a_pulse_it_ends_as_it_was_meant_to) {
  for (const Duration step : {Duration{25h}, Duration{-24h * 365}, Duration{24h * 365 * 20}}) {
    Bench bench{tight_plan()};
    bench.prepare();
    bench.start();
    ASSERT_TRUE(bench.let_pulse_begin()) << bench.log();
    bench.clock().step_wall(step);
    ASSERT_TRUE(bench.let_pass(2min));
    EXPECT_FALSE(bench.pump_on());
    EXPECT_NEAR(bench.delivered_ml(), 12.5, 0.2) << bench.log();
    EXPECT_GE(bench.counted_ml(), bench.delivered_ml() - 0.001);
    ASSERT_TRUE(bench.let_pass(30h));
    EXPECT_EQ(bench.stop(), 0);
    const auto found = violations(bench.slave().log(), kRules);
    EXPECT_TRUE(found.empty()) << found.front();
  }
}

TEST(ClockSteps, a_board_without_a_real_time_clock_boots_in_the_past_and_frees_nothing) {
  Bench bench{tight_plan()};
  bench.prepare();
  bench.start();
  ASSERT_TRUE(bench.let_pass(25h)) << bench.log();
  const WallTime first = bench.clock().now().wall;
  double given_after_boots = 0;
  for (const Duration wall :
       {Duration{-24h * 30}, -first.time_since_epoch(), Duration{24h * 400}}) {
    // The power goes in the middle of it all; the machine is back at once and knows no time.
    bench.kill();
    EXPECT_EQ(bench.off(), 0);
    bench.slave().advance();
    bench.clock().reboot(first + wall);
    const double before = bench.delivered_ml();
    bench.start();
    ASSERT_TRUE(bench.let_pass(90min)) << bench.log();
    given_after_boots += bench.delivered_ml() - before;
  }
  // The day's 600 mL were spent when the power went. Three times 90 minutes later the oldest four
  // and a half hours may have left the window, and no more: 600 / 24 * 4.5 = 112.5 mL.
  EXPECT_LE(given_after_boots, 112.5 + 12.5);
  EXPECT_EQ(bench.stop(), 0);
}

TEST(ClockSteps, a_reboot_waits_the_settle_time_again) {
  Bench bench{tight_plan()};
  bench.prepare();
  bench.start();
  ASSERT_TRUE(bench.let_pulse_begin()) << bench.log();
  bench.kill();
  EXPECT_EQ(bench.off(), 0);
  bench.clock().reboot(bench.clock().now().wall);
  const double before = bench.delivered_ml();
  bench.start();
  ASSERT_TRUE(bench.let_pass(19min));
  EXPECT_EQ(bench.delivered_ml(), before) << "dosed before the limewater could have settled";
  ASSERT_TRUE(bench.let_pass(60min));
  EXPECT_GT(bench.delivered_ml(), before) << bench.log();
  EXPECT_EQ(bench.stop(), 0);
}

}  // namespace
}  // namespace limegate::test
