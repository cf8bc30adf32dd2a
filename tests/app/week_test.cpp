#include <gtest/gtest.h>

#include "app/bench.h"

namespace limegate::test {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

TEST(Week, pump_and_stirrer_never_meet_and_the_plan_is_given) {
  Bench::Plan plan;
  plan.stir_every_min = 120;
  plan.settle_min = 60;
  plan.max_pulse_ml = 60;
  plan.poll_s = 5;
  Bench bench{plan};
  bench.prepare();
  bench.start();
  ASSERT_TRUE(bench.let_pass(7 * 24h)) << bench.log();
  const double delivered = bench.delivered_ml();
  EXPECT_EQ(bench.stop(), 0) << bench.log();

  const auto found = violations(bench.slave().log(), {60min, 348.0, 2000.0});
  EXPECT_TRUE(found.empty()) << found.size() << " violations, the first: " << found.front();
  // The first window is lost to the settling and proving after the start.
  EXPECT_GE(delivered, 0.98 * 7 * 2000.0) << bench.log();
  EXPECT_LE(delivered, 7 * 2000.0 + 0.01);
  EXPECT_GE(bench.counted_ml(), delivered - 0.001);
  EXPECT_FALSE(bench.pump_on());
  EXPECT_FALSE(bench.stirrer_on());
}

}  // namespace
}  // namespace limegate::test
