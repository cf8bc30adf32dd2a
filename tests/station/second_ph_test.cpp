// A station with two pH probes.

#include <gtest/gtest.h>

#include "station/bench.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

/// The bench, and a second probe that shows what it is told each second.
class TwoProbes {
 public:
  TwoProbes() : bench(settings()) {}

  void run(Duration duration) {
    for (Duration passed{}; passed < duration; passed += 1s) {
      if (answers) {
        const bool even = (passed / 1min) % 2 == 0;
        bench.see(ProbeSample{rules::Role::second_ph, second + (even ? 0.01 : 0.0)});
      }
      bench.second();
    }
  }
  static Settings settings() {
    Settings settings = Bench::usual();
    settings.second_ph = settings.ph;
    return settings;
  }

  Bench bench;
  double second = 8.2;
  bool answers = true;
};

TEST(TwoProbes, that_agree_let_dosing_go_on_by_the_higher_one) {
  TwoProbes two;
  two.second = 8.26;
  two.run(3h);
  EXPECT_GE(two.bench.count<AppendPulse>(), 2U);
  EXPECT_NEAR(two.bench.core.reading(rules::Role::ph, two.bench.now.mono).value, 8.265, 0.006);
  EXPECT_NEAR(two.bench.core.status(two.bench.now).second_ph->value, 8.265, 0.006);
}

TEST(TwoProbes, need_both) {
  TwoProbes two;
  two.answers = false;
  two.run(3h);
  EXPECT_EQ(two.bench.count<AppendPulse>(), 0U);
  EXPECT_TRUE(two.bench.held_for("second-ph-missing"));
  EXPECT_EQ(two.bench.raised("long-second-ph-missing"), 1U);
}

TEST(TwoProbes, that_disagree_hold_and_call_a_person) {
  TwoProbes two;
  two.run(2h);
  const std::size_t before = two.bench.count<AppendPulse>();
  two.second = 8.08;
  two.run(31min);
  EXPECT_TRUE(two.bench.held_for("ph-probes-disagree"));
  two.run(3h);
  EXPECT_LE(two.bench.count<AppendPulse>(), before + 2) << "one window may have begun before";
  EXPECT_EQ(two.bench.raised("long-ph-probes-disagree"), 1U);
  two.second = 8.2;
  two.run(3h);
  EXPECT_FALSE(two.bench.held_for("ph-probes-disagree"));
  EXPECT_GT(two.bench.count<AppendPulse>(), before);
}

TEST(TwoProbes, a_raw_value_of_the_second_ends_a_pulse_at_once) {
  TwoProbes two;
  two.run(75min);
  while (two.bench.phase() != PumpDuty::Phase::running) {
    two.run(1s);
  }
  const Effects effects = two.bench.see(ProbeSample{rules::Role::second_ph, 8.46});
  EXPECT_TRUE(std::any_of(effects.begin(), effects.end(), [](const Effect& effect) {
    return std::holds_alternative<SwitchOff>(effect);
  }));
}

TEST(OneProbe, does_not_hear_of_a_second_one) {
  Bench bench;
  bench.run(3h);
  bench.see(ProbeSample{rules::Role::second_ph, 8.7});
  bench.second();
  EXPECT_FALSE(bench.held_for("ph-ceiling"));
  EXPECT_FALSE(bench.core.status(bench.now).second_ph);
}

}  // namespace
}  // namespace limegate::station
