// How much each clear window gives: the spread over the day, and what was missed.

#include "station/window_plan.h"

#include <chrono>
#include <cmath>
#include <numbers>
#include <vector>

#include <gtest/gtest.h>

#include "station/bench.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using Missed = dosing::PlanSettings::Missed;

/// 960 mL a day: 80 mL in each of twelve windows; up to 160 mL fit into an hour.
WindowPlan::Present scenario(Missed missed = Missed::dropped) {
  WindowPlan::Present present{{}, {Millilitres{160.0}, Millilitres{1000.0}}, {}};
  present.plan.day_volume = Millilitres{960.0};
  present.plan.pulse_max = Millilitres{30.0};
  present.plan.pump_rate = MillilitresPerMinute{40.0};
  present.plan.missed = missed;
  return present;
}
Moment at(int window) { return {Instant{2h * window}, WallTime{2h * window}}; }

TEST(WindowPlan, gives_evenly_and_drops_what_was_missed) {
  WindowPlan plan;
  for (int window = 0; window < 12; ++window) {
    EXPECT_DOUBLE_EQ(plan.open(at(window), scenario()).window_volume.count(), 80.0);
    plan.given(Millilitres{20.0});
  }
}

TEST(WindowPlan, gives_evenly_while_nobody_knows_the_hour) {
  for (const auto spread : {dosing::Spread::night, dosing::Spread::levelling}) {
    WindowPlan plan;
    auto present = scenario();
    present.plan.spread = spread;
    for (int window = 0; window < 12; ++window) {
      Moment opens = at(window);
      opens.wall_trusted = false;
      EXPECT_DOUBLE_EQ(plan.open(opens, present).window_volume.count(), 80.0);
      plan.given(Millilitres{80.0});
    }
  }
}

TEST(WindowPlan, gives_next_what_whole_steps_of_the_timer_leave_over) {
  WindowPlan plan;
  auto present = scenario();
  present.plan.timer_step = 24s;  // 16 mL
  present.plan.day_volume = Millilitres{1080.0};
  Millilitres given;
  for (int window = 0; window < 12; ++window) {
    const dosing::PlanShape shape = plan.open(at(window), present);
    EXPECT_TRUE(shape.steps == 5 || shape.steps == 6) << shape.steps;  // 90 / 16 = 5.6
    given += shape.window_volume;
    plan.given(shape.window_volume);
    EXPECT_LT(std::abs(given.count() - 90.0 * (window + 1)), 16.0);
  }
}

TEST(WindowPlan, gives_a_step_when_enough_windows_have_asked_for_one) {
  WindowPlan plan;
  auto present = scenario(Missed::made_up);  // what is owed is not missed, and comes once
  present.plan.timer_step = 24s;
  present.plan.day_volume = Millilitres{72.0};  // 6 mL a window
  std::vector<int> pulses;
  for (int window = 0; window < 8; ++window) {
    const dosing::PlanShape shape = plan.open(at(window), present);
    pulses.push_back(shape.pulses_per_window);
    plan.given(shape.window_volume);
  }
  EXPECT_EQ(pulses, (std::vector{0, 0, 1, 0, 0, 1, 0, 1}));  // 18, 20 - and 18 + 4 = 16 + 6
}

TEST(WindowPlan, owes_nothing_once_what_was_missed_is_dropped) {
  WindowPlan plan;
  auto present = scenario();
  present.plan.timer_step = 24s;
  present.plan.day_volume = Millilitres{180.0};  // 15 mL a window
  EXPECT_EQ(plan.open(at(0), present).pulses_per_window, 0);
  plan.drop_missed();
  EXPECT_EQ(plan.open(at(1), present).pulses_per_window, 0);
  EXPECT_EQ(plan.open(at(2), present).pulses_per_window, 1);
}

TEST(WindowPlan, makes_up_what_was_missed_within_the_hours_limit) {
  WindowPlan plan;
  const auto present = scenario(Missed::made_up);
  EXPECT_DOUBLE_EQ(plan.open(at(0), present).window_volume.count(), 80.0);
  plan.given(Millilitres{30.0});  // 50 missed
  EXPECT_NEAR(plan.open(at(1), present).window_volume.count(), 130.0, 1e-9);
  // Nothing of 130: 80 more are missed, 130 in all, of which 80 fit beside this window's own.
  EXPECT_NEAR(plan.open(at(2), present).window_volume.count(), 160.0, 0.1);
  plan.given(Millilitres{160.0});
  EXPECT_NEAR(plan.open(at(3), present).window_volume.count(), 130.0, 1e-9);
  plan.given(Millilitres{130.0});
  EXPECT_NEAR(plan.open(at(4), present).window_volume.count(), 80.0, 1e-9);
}

TEST(WindowPlan, forgets_what_was_missed_more_than_a_day_ago) {
  WindowPlan plan;
  const auto present = scenario(Missed::made_up);
  (void)plan.open(at(0), present);
  EXPECT_GT(plan.open(at(12), present).window_volume.count(), 150.0);
  plan.given(Millilitres{80.0});
  EXPECT_NEAR(plan.open(at(13), present).window_volume.count(), 80.0, 1e-9);
}

TEST(WindowPlan, does_not_make_up_what_ph_held_back) {
  WindowPlan plan;
  const auto present = scenario(Missed::made_up);
  (void)plan.open(at(0), present);
  (void)plan.open(at(1), present);
  plan.drop_missed();
  EXPECT_NEAR(plan.open(at(2), present).window_volume.count(), 80.0, 1e-9);
}

TEST(WindowPlan, gives_more_at_night_and_the_day_is_the_days_volume) {
  WindowPlan plan;
  auto present = scenario();
  present.plan.spread = dosing::Spread::night;
  double day = 0.0;
  double most = 0.0;
  double least = 1e9;
  for (int window = 0; window < 12; ++window) {
    const double volume = plan.open(at(window), present).window_volume.count();
    day += volume;
    most = std::max(most, volume);
    least = std::min(least, volume);
  }
  EXPECT_NEAR(day, 960.0, 1e-6);
  EXPECT_NEAR(most, 80.0 * 1.68, 1e-6);
  EXPECT_NEAR(least, 80.0 * 0.3 * 24 / 14, 1e-6);
}

TEST(WindowPlan, levels_within_the_hours_limit_once_the_course_is_known) {
  WindowPlan plan;
  auto present = scenario();
  present.plan.spread = dosing::Spread::levelling;
  EXPECT_DOUBLE_EQ(plan.open(at(0), present).window_volume.count(), 80.0);
  present.ph = dosing::DayOfPh{{}, PhChange{0.25}, 4h};
  for (std::size_t n = 0; n < 96; ++n) {
    const double turn = 2.0 * std::numbers::pi * (static_cast<double>(n) - 28.0) / 96.0;
    present.ph->undosed[n] = 8.15 - 0.15 * std::cos(turn);
  }
  double day = 0.0;
  for (int window = 0; window < 12; ++window) {
    day += plan.open(at(window), present).window_volume.count();
  }
  EXPECT_NEAR(day, 960.0, 0.01);
  EXPECT_NEAR(plan.open(at(14), present).window_volume.count(), 160.0, 0.2)
      << "04:00, all that fits";
  EXPECT_NEAR(plan.open(at(20), present).window_volume.count(), 16.0, 0.2) << "16:00, a fifth";
}

TEST(WindowPlan, levels_anew_where_the_water_bears_less) {
  WindowPlan plan;
  auto present = scenario();
  present.plan.spread = dosing::Spread::levelling;
  present.ph = dosing::DayOfPh{{}, PhChange{0.25}, 4h};
  for (std::size_t n = 0; n < 96; ++n) {
    const double turn = 2.0 * std::numbers::pi * (static_cast<double>(n) - 28.0) / 96.0;
    present.ph->undosed[n] = 8.15 - 0.15 * std::cos(turn);
  }
  (void)plan.open(at(0), present);
  present.bounds.hour = Millilitres{110.0};
  double day = 0.0;
  for (int window = 1; window <= 12; ++window) {
    const double volume = plan.open(at(window), present).window_volume.count();
    EXPECT_LE(volume, 110.1);
    day += volume;
  }
  EXPECT_NEAR(day, 960.0, 0.1) << "what does not fit at the low goes elsewhere";
}

Settings begins_with(double volume) {
  Settings settings = Bench::usual();
  settings.begins_with = Millilitres{volume};
  return settings;
}

TEST(StationPlan, a_new_station_begins_with_half_and_goes_on_so_after_a_restart) {
  Bench bench{begins_with(360.0)};
  bench.second();
  EXPECT_EQ(bench.core.status(bench.now).day_volume.count(), 360.0);
  EXPECT_EQ(bench.raised("volume-begins-at-half"), 1U);
  History stored;
  for (const Effect& effect : bench.log) {
    if (const auto* wish = std::get_if<StoreWish>(&effect)) {
      stored.wishes.push_back(wish->wish);
    }
  }
  Bench again{begins_with(360.0), stored};
  again.second();
  EXPECT_EQ(again.core.status(again.now).day_volume.count(), 360.0);
  EXPECT_EQ(again.raised("volume-begins-at-half"), 0U);
  EXPECT_EQ(again.command(SetDayVolume{Millilitres{720.0}}).verdict, Answer::Verdict::accepted);
  again.run(1min);
  EXPECT_EQ(again.core.status(again.now).day_volume.count(), 720.0) << "the keeper's word";
}

TEST(StationPlan, a_station_that_was_dosed_for_days_keeps_its_volume) {
  History primed;
  primed.newest_pulse_id = 49;
  Bench young{begins_with(360.0), primed};
  young.second();
  EXPECT_EQ(young.core.status(young.now).day_volume.count(), 360.0) << "priming is no dosing";
  History dosed;
  dosed.newest_pulse_id = 50;
  Bench bench{begins_with(360.0), dosed};
  bench.second();
  EXPECT_EQ(bench.core.status(bench.now).day_volume.count(), 720.0);
}

TEST(StationPlan, a_pause_is_no_word_about_the_volume) {
  History paused;
  paused.wishes.push_back({Wish::What::pause_from_afar, {}, 1h, {}});
  Bench bench{begins_with(360.0), paused};
  bench.second();
  EXPECT_EQ(bench.core.status(bench.now).day_volume.count(), 360.0);
}

TEST(StationPlan, a_ledger_that_was_lost_makes_no_station_new) {
  History lost;
  lost.doses.push_back({0, {100h, WallTime{500000h}}, kCountsAsFull});
  Bench bench{begins_with(360.0), lost};
  bench.second();
  EXPECT_EQ(bench.core.status(bench.now).day_volume.count(), 720.0);
}

TEST(StationPlan, the_same_volume_said_again_from_afar_gives_no_more) {
  Settings settings = Bench::usual();
  settings.plan.spread = dosing::Spread::night;
  // A window by day by the local clock, whatever that is: 0.514 times 60 mL, two pulses of 15.4.
  settings.plan.night = {
      time_of_day(WallTime{500000h}) + 12h < Duration{24h} ? time_of_day(WallTime{500000h}) + 12h
                                                           : time_of_day(WallTime{500000h}) - 12h,
      time_of_day(WallTime{500000h}) + 22h < Duration{24h} ? time_of_day(WallTime{500000h}) + 22h
                                                           : time_of_day(WallTime{500000h}) - 2h};
  Bench bench{settings};
  const auto first = bench.until<AppendPulse>();
  ASSERT_TRUE(first);
  EXPECT_LT(first->pulse.volume.count(), 31.0);
  const double one = first->pulse.volume.count();
  ASSERT_EQ(bench.command(SetDayVolume{Millilitres{720.0}}, Origin::afar).verdict,
            Answer::Verdict::accepted);
  std::size_t more = 0;
  for (Duration passed{}; passed < 40min; passed += 1s) {
    for (const Effect& effect : bench.second()) {
      if (const auto* pulse = std::get_if<AppendPulse>(&effect)) {
        EXPECT_NEAR(pulse->pulse.volume.count(), one, 1e-6);
        ++more;
      }
    }
  }
  EXPECT_LE(static_cast<double>(more + 1) * one, 31.0) << "0.514 times 60 mL in this window";
}

TEST(StationPlan, a_new_station_with_less_begins_with_less) {
  Bench bench{begins_with(720.0)};
  bench.second();
  EXPECT_EQ(bench.core.status(bench.now).day_volume.count(), 720.0);
  EXPECT_EQ(bench.count<StoreWish>(), 0U);
}

TEST(StationPlan, what_an_effect_too_large_held_back_is_not_made_up) {
  Settings settings = Bench::usual();
  settings.plan.missed = Missed::made_up;
  History latched;
  latched.latches = {"effect-too-large"};
  Bench bench{settings, latched};
  bench.run(4h);
  ASSERT_EQ(bench.count<AppendPulse>(), 0U);
  ASSERT_EQ(bench.command(Release{"effect-too-large"}).verdict, Answer::Verdict::accepted);
  bench.run(2h);
  EXPECT_EQ(bench.count<AppendPulse>(), 2U) << "a window's own";
}

TEST(StationPlan, a_window_that_was_paused_is_made_up_in_the_next_one) {
  Settings settings = Bench::usual();
  settings.plan.missed = Missed::made_up;
  Bench bench{settings};
  ASSERT_TRUE(bench.until<ClosePulse>());  // the first of two pulses of 30 mL
  ASSERT_EQ(bench.command(Pause{1h}).verdict, Answer::Verdict::accepted);
  bench.run(1h);
  const std::size_t before = bench.count<AppendPulse>();
  bench.run(2h);
  EXPECT_EQ(bench.count<AppendPulse>() - before, 3U) << "two, and the one that was missed";
}

}  // namespace
}  // namespace limegate::station
