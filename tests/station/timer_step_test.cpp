// A board's timer counts whole steps: what is planned, counted and asked for is what it can end.

#include <chrono>
#include <string>

#include <gtest/gtest.h>

#include "station/bench.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

/// 21 s at 40 mL/min: 14 mL a step, so pulses of 28 of the 30 mL; 60 mL a window are 4.3 steps.
Settings coarse() {
  Settings settings = Bench::usual();
  settings.plan.timer_step = 21s;
  return settings;
}

struct Given {
  int pulses = 0;
  Millilitres volume;
  bool whole = true;
};
Given over(Bench& bench, Duration duration) {
  Given given;
  const std::size_t before = bench.log.size();
  bench.run(duration);
  for (std::size_t i = before; i < bench.log.size(); ++i) {
    if (const auto* pulse = std::get_if<AppendPulse>(&bench.log[i])) {
      ++given.pulses;
      given.volume += pulse->pulse.volume;
      given.whole =
          given.whole && pulse->pulse.duration % 21s == 0s &&
          pulse->pulse.volume.count() == static_cast<double>(pulse->pulse.duration / 21s) * 14.0;
    }
  }
  return given;
}

TEST(TimerStep, of_21_s_gives_the_days_volume_in_whole_steps) {
  Bench bench{coarse()};
  bench.run(2h);
  const Given given = over(bench, 48h);
  EXPECT_TRUE(given.whole);
  EXPECT_NEAR(given.volume.count(), 1440.0, 28.0);
  EXPECT_EQ(bench.raised("dosing-below-plan"), 0U);
}

TEST(TimerStep, doses_although_a_window_asks_for_less_than_one) {
  Settings settings = coarse();
  settings.plan.day_volume = Millilitres{60.0};  // 5 mL a window
  Bench bench{settings};
  bench.run(2h);
  const Given given = over(bench, 96h);
  EXPECT_TRUE(given.whole);
  EXPECT_NEAR(given.volume.count(), 240.0, 14.0);
}

TEST(TimerStep, that_the_water_does_not_bear_holds_and_says_so) {
  Settings settings = coarse();
  settings.water = {Litres{20.0}, Dkh{8.0}};
  Bench bench{settings};
  bench.run(4h);
  EXPECT_TRUE(bench.held_for("timer-step-too-long"));
  EXPECT_EQ(bench.count<AppendPulse>(), 0U);
}

TEST(TimerStep, of_an_attended_run_is_whole_and_told) {
  Bench bench{coarse()};
  bench.until<RunEffect>();
  bench.run(5min);
  const Answer less = bench.command(RunAttended{Millilitres{13.9}});
  EXPECT_EQ(less.verdict, Answer::Verdict::refused);
  EXPECT_NE(less.sentence.find("14"), std::string::npos) << less.sentence;
  const Answer answer = bench.command(RunAttended{Millilitres{50.0}});
  ASSERT_EQ(answer.verdict, Answer::Verdict::accepted) << answer.sentence;
  EXPECT_NE(answer.sentence.find("42"), std::string::npos) << answer.sentence;
  const Given given = over(bench, 10min);
  EXPECT_TRUE(given.whole);
  EXPECT_EQ(given.volume, Millilitres{42.0});
  EXPECT_EQ(given.pulses, 2);
  EXPECT_EQ(bench.raised("attended-run-over"), 1U);
}

}  // namespace
}  // namespace limegate::station
