// What the water does, alone: readings in, what is learned of it out.

#include "station/water.h"

#include <cmath>

#include <gtest/gtest.h>

#include "station/part.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

/// Days of an ordinary course, without a dose.
class WaterAlone : public testing::Test {
 protected:
  rules::Snapshot at(Duration when, double above = 0.0) {
    rules::Snapshot known;
    const double day = std::chrono::duration<double>(when) / 24h;
    known.ph.value = known.ph.newest = 8.2 + 0.1 * std::sin(2.0 * 3.14159265 * day) + above;
    known.temperature.value = known.temperature.newest = 25.0;
    for (signal::Reading* reading : {&known.ph, &known.temperature}) {
      reading->quality = signal::Quality::good;
      reading->reason = signal::Reason::none;
      reading->age = 1s;
    }
    known.stirrer = {rules::StirrerKnown::State::resting, kStart.mono};
    return known;
  }
  void live(Duration lasting, rules::Teaches teaches = rules::Teaches::yes, double above = 0.0) {
    for (const Duration end = now + lasting; now < end; now += 10s) {
      water.follow(after(now));
      water.step(after(now), effects);
      water.learn(after(now), at(now, above), Water::Pulse::mixed_in, teaches, effects);
    }
  }
  rules::Snapshot known(Water::Pulse pulse = Water::Pulse::mixed_in, double above = 0.0) {
    rules::Snapshot known = at(now, above);
    water.know(after(now), pulse, known);
    return known;
  }

  Duration now{};
  Effects effects;
  Water water{part_settings(), {}, kStart};
};

TEST_F(WaterAlone, a_climb_is_unknown_until_its_window_was_watched) {
  EXPECT_FALSE(known().rise);
  EXPECT_EQ(known().rise_unknown_for, 30min);
  live(31min);
  EXPECT_TRUE(known().rise);
  EXPECT_NEAR((*known(Water::Pulse::mixing, 0.05).rise - *known().rise).count(), 0.05, 1e-9);
}

TEST_F(WaterAlone, the_usual_course_is_learned_from_calm_days_and_not_judged_while_a_pulse_mixes) {
  EXPECT_FALSE(known().residual);
  EXPECT_GT(water.course_days_to_go(), 0);
  live(24h * 9);
  EXPECT_EQ(water.course_days_to_go(), 0);
  EXPECT_TRUE(known().residual);
  EXPECT_FALSE(known(Water::Pulse::mixing).residual);
  ASSERT_TRUE(water.undosed_day(after(now), Millilitres{720.0}));
  water.relearn(effects);
  EXPECT_GT(water.course_days_to_go(), 0);
  EXPECT_FALSE(known().residual);
}

TEST_F(WaterAlone, while_something_is_wrong_it_does_not_learn_what_is_usual) {
  live(24h * 9, rules::Teaches::no);
  EXPECT_GT(water.course_days_to_go(), 0);
  EXPECT_TRUE(known().rise) << "but it watches the climb";
}

TEST_F(WaterAlone, the_days_before_the_first_dose_become_the_reference) {
  live(24h * 9);
  EXPECT_FALSE(water.has_reference());
  water.dose_begins(after(now), std::nullopt, effects);
  ASSERT_TRUE(water.has_reference());
  ASSERT_TRUE(known().above_reference);
  EXPECT_NEAR(known().above_reference->count(), 0.0, 0.02);
  EXPECT_NEAR(known(Water::Pulse::mixed_in, 0.2).above_reference->count(), 0.2, 0.02);
}

TEST_F(WaterAlone, only_a_tested_alkalinity_sizes_volumes) {
  EXPECT_FALSE(water.tested_rise());
  Settings settings = part_settings();
  settings.water.alkalinity = Dkh{8.0};
  const Water tested{settings, {}, kStart};
  ASSERT_TRUE(tested.tested_rise());
  EXPECT_GT(*tested.tested_rise(), PhChange{0.0});
}

TEST_F(WaterAlone, a_rate_that_nobody_measured_halves_until_a_run_confirms_it) {
  EXPECT_EQ(water.halved(), Anchor::Halved::no);
  Settings settings = part_settings();
  settings.pump_rate_dated = false;
  Water undated{settings, {}, kStart};
  EXPECT_EQ(undated.halved(), Anchor::Halved::rate_unconfirmed);
  EXPECT_EQ(undated.confirm(MillilitresPerMinute{39.0}, effects), "");
  EXPECT_EQ(undated.halved(), Anchor::Halved::no);
}

TEST_F(WaterAlone, a_next_run_goes_on_from_what_this_one_saw) {
  EXPECT_FALSE(water.seen());
  live(40min);
  const auto seen = water.seen();
  ASSERT_TRUE(seen);
  History history;
  history.seen = seen;
  Water next{part_settings(), history, after(now + 20s)};
  next.take_up(history, seen, after(now + 20s));
  rules::Snapshot known = at(now + 20s, 0.08);
  next.learn(after(now + 20s), known, Water::Pulse::mixed_in, rules::Teaches::yes, effects);
  next.know(after(now + 20s), Water::Pulse::mixed_in, known);
  ASSERT_TRUE(known.rise) << "a restart frees no climb";
  EXPECT_GT(*known.rise, PhChange{0.07});
}

}  // namespace
}  // namespace limegate::station
