// The plan against arithmetic done by hand. Scenario of our own: 960 mL a day, stir 15 min every
// 120 min, settle 60 min, pump 40 mL/min.

#include "dosing/plan.h"

#include <chrono>
#include <cmath>
#include <limits>
#include <set>

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "dosing/plan_fit.h"

namespace limegate::dosing {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using namespace literals;              // NOLINT(google-build-using-namespace): literals only

PlanSettings scenario() {
  PlanSettings settings;
  settings.day_volume = 960.0_mL;
  settings.pulse_max = 30.0_mL;
  settings.pump_rate = MillilitresPerMinute{40.0};
  return settings;
}

TEST(Plan, comes_to_what_the_hand_works_out) {
  const PlanShape shape = shape_of(scenario());
  EXPECT_EQ(shape.clear_window, 45min);          // 120 - 15 - 60
  EXPECT_EQ(shape.windows_per_day, 12.0);        // 24 h / 120 min
  EXPECT_EQ(shape.window_volume.count(), 80.0);  // 960 / 12
  EXPECT_EQ(shape.pulses_per_window, 3);         // 80 / 30 = 2.67, rounded up
  EXPECT_NEAR(shape.pulse_volume.count(), 80.0 / 3.0, 1e-12);
  EXPECT_NEAR(std::chrono::duration<double>(shape.pulse_duration).count(), 40.0,
              1e-6);             // 26.67/40 min
  EXPECT_EQ(shape.slot, 15min);  // 45 / 3
  // Middles at 7.5, 22.5 and 37.5 min; the next window's first is 112.5 min after the first.
  EXPECT_NEAR(shape.hour_volume.count(), 80.0, 1e-9);
}

TEST(Plan, the_longest_pulse_limits_the_volume_too) {
  PlanSettings settings = scenario();
  settings.pulse_duration_max = 30s;  // 40 mL/min for 30 s = 20 mL < 30 mL: 80 / 20 = 4 pulses
  const PlanShape shape = shape_of(settings);
  EXPECT_EQ(shape.pulses_per_window, 4);
  EXPECT_EQ(shape.pulse_volume.count(), 20.0);
  EXPECT_LE(shape.pulse_duration, 30s);
}

TEST(Plan, a_window_that_divides_evenly_gets_no_pulse_more) {
  PlanSettings settings = scenario();
  settings.day_volume = 1200.0_mL;  // 100 mL a window in pulses of 10 mL
  settings.pulse_max = 10.0_mL;
  EXPECT_EQ(shape_of(settings).pulses_per_window, 10);
}

TEST(Plan, windows_closer_than_an_hour_share_a_sliding_hour) {
  PlanSettings settings = scenario();
  settings.stir = {5min, 30min};
  settings.settle = 20min;         // window of 5 min every 30 min, 48 a day
  settings.day_volume = 480.0_mL;  // 10 mL each: one pulse; at 0, 30 and 60 min: 3 in an hour
  const PlanShape shape = shape_of(settings);
  EXPECT_EQ(shape.clear_window, 5min);
  EXPECT_EQ(shape.pulses_per_window, 1);
  EXPECT_NEAR(shape.hour_volume.count(), 30.0, 1e-9);
}

TEST(Plan, without_a_clear_window_there_are_no_pulses) {
  PlanSettings settings = scenario();
  settings.settle = 105min;  // 120 - 15 - 105 = 0
  EXPECT_EQ(shape_of(settings).clear_window, 0min);
  EXPECT_EQ(shape_of(settings).pulses_per_window, 0);
  settings.settle = 110min;
  EXPECT_EQ(shape_of(settings).clear_window, -5min);
  EXPECT_EQ(shape_of(settings).pulses_per_window, 0);
}

TEST(Plan, of_an_absurd_volume_is_bounded_and_refused) {
  PlanSettings settings = scenario();
  for (const double volume : {3e7, 1e300}) {
    settings.day_volume = Millilitres{volume};
    const PlanShape shape = shape_of(settings);
    EXPECT_LE(shape.pulses_per_window, 10000);
    EXPECT_FALSE(objections_to(settings, {200.0_mL, 960.0_mL, 60s}).empty());
  }
}

TEST(Plan, facts_that_are_nothing_or_no_numbers_give_no_pulses) {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  for (const double nothing : {0.0, -5.0, nan}) {
    PlanSettings settings = scenario();
    settings.day_volume = Millilitres{nothing};
    EXPECT_EQ(shape_of(settings).pulses_per_window, 0) << "day volume " << nothing;
    settings = scenario();
    settings.pulse_max = Millilitres{nothing};
    EXPECT_EQ(shape_of(settings).pulses_per_window, 0) << "pulse " << nothing;
    settings = scenario();
    settings.pump_rate = MillilitresPerMinute{nothing};
    EXPECT_EQ(shape_of(settings).pulses_per_window, 0) << "pump rate " << nothing;
  }
}

class Slots : public testing::Test {
 protected:
  PlanShape shape = shape_of(scenario());
  Instant open{5h};
  Instant close{5h + 45min};
  [[nodiscard]] std::optional<Slot> at(Duration since_open) const {
    return due_slot(shape, open, close, open + since_open);
  }
};

TEST_F(Slots, are_due_from_their_middle_to_their_end) {
  EXPECT_FALSE(at(-1ns));
  EXPECT_FALSE(at(0s));
  EXPECT_FALSE(at(7min + 30s - 1ns));
  EXPECT_EQ(at(7min + 30s), (Slot{open, 0}));
  EXPECT_EQ(at(15min - 1ns), (Slot{open, 0}));
  EXPECT_FALSE(at(15min));
  EXPECT_FALSE(at(22min));
  EXPECT_EQ(at(22min + 30s), (Slot{open, 1}));
  EXPECT_EQ(at(37min + 30s), (Slot{open, 2}));
}

TEST_F(Slots, end_so_early_that_the_pulse_ends_before_the_window_closes) {
  const Duration last = 45min - shape.pulse_duration - kPulseExpiry;
  EXPECT_EQ(at(last), (Slot{open, 2}));
  EXPECT_FALSE(at(last + 1ns));
  EXPECT_FALSE(at(45min));
  EXPECT_FALSE(at(46min));
}

TEST_F(Slots, there_are_none_without_pulses) {
  EXPECT_FALSE(due_slot(PlanShape{}, open, close, open + 10min));
  EXPECT_FALSE(next_due(PlanShape{}, open, close, open));
}

TEST_F(Slots, next_due_is_the_middle_of_the_next_slot) {
  EXPECT_EQ(next_due(shape, open, close, open - 1h), open + 7min + 30s);
  EXPECT_EQ(next_due(shape, open, close, open), open + 7min + 30s);
  EXPECT_EQ(next_due(shape, open, close, open + 7min + 30s), open + 22min + 30s);
  EXPECT_EQ(next_due(shape, open, close, open + 22min + 30s - 1ns), open + 22min + 30s);
  EXPECT_EQ(next_due(shape, open, close, open + 30min), open + 37min + 30s);
  EXPECT_FALSE(next_due(shape, open, close, open + 37min + 30s));
}

TEST_F(Slots, next_due_names_no_pulse_that_would_not_fit) {
  EXPECT_FALSE(next_due(shape, open, open + 37min + 31s, open + 30min));
}

RC_GTEST_PROP(Plan, each_slot_is_due_once_and_a_day_is_never_more_than_planned, ()) {
  PlanSettings settings = scenario();
  settings.day_volume = Millilitres{static_cast<double>(*rc::gen::inRange(1, 4000))};
  settings.pulse_max = Millilitres{static_cast<double>(*rc::gen::inRange(1, 60))};
  settings.pump_rate = MillilitresPerMinute{static_cast<double>(*rc::gen::inRange(5, 200))};
  settings.settle = std::chrono::minutes{*rc::gen::inRange(20, 104)};
  const PlanShape shape = shape_of(settings);
  RC_PRE(shape.pulses_per_window > 0);
  RC_ASSERT(shape.pulse_volume.count() <= settings.pulse_max.count() + 1e-6);
  RC_ASSERT(shape.pulse_duration <= settings.pulse_duration_max + 1ms);
  RC_ASSERT(shape.pulse_volume.count() * shape.pulses_per_window * shape.windows_per_day <=
            settings.day_volume.count() + 1e-6);
  const Instant open{3h};
  const Instant close = open + shape.clear_window;
  std::set<int> seen;
  for (Instant now = open - 1min; now < close + 1min; now += 1s) {
    if (const auto slot = due_slot(shape, open, close, now)) {
      RC_ASSERT(slot->index >= 0 && slot->index < shape.pulses_per_window);
      // Worked out before: the macro's own operators would evaluate both sides.
      const bool in_order = seen.empty() || *seen.rbegin() <= slot->index;
      RC_ASSERT(in_order);
      RC_ASSERT(now + shape.pulse_duration + kPulseExpiry <= close);
      seen.insert(slot->index);
    }
  }
}

TEST(MeanUpflow, is_volume_over_area_and_time) {
  // 80 mL within 45 min through 100 mm bore: 80000 mm3 / 7853.98 mm2 = 10.186 mm in 0.75 h.
  EXPECT_NEAR(mean_upflow(80.0_mL, 45min, Millimetres{100.0}).count(), 13.58, 0.005);
  // A 60 s pulse of 50 mL in a 10 cm bore lifts the water by 6 mm: 50000 / 7853.98 = 6.37 mm, so
  // 382 mm/h while it runs.
  EXPECT_NEAR(mean_upflow(50.0_mL, 1min, Millimetres{100.0}).count(), 381.97, 0.005);
}

/// 24 s at 40 mL/min: steps of 16 mL, so a pulse of at most 30 mL is one of them.
PlanSettings coarse() {
  PlanSettings settings = scenario();
  settings.timer_step = 24s;
  return settings;
}

TEST(TimerSteps, make_every_pulse_whole) {
  const PlanShape shape = shape_within(coarse(), 90.0_mL);
  EXPECT_EQ(shape.steps, 5);                     // 90 / 16 = 5.6
  EXPECT_EQ(shape.window_volume.count(), 80.0);  // 5 * 16
  EXPECT_EQ(shape.pulses_per_window, 5);
  EXPECT_EQ(shape.pulse_volume.count(), 16.0);
  EXPECT_EQ(shape.pulse_duration, 24s);
}

TEST(TimerSteps, are_shared_out_among_the_pulses_of_a_window) {
  PlanSettings settings = coarse();
  settings.timer_step = 3s;  // 2 mL, so 15 of them are a pulse of 30 mL
  const PlanShape shape = shape_within(settings, 80.5_mL);
  EXPECT_EQ(shape.steps, 40);
  EXPECT_EQ(shape.pulses_per_window, 3);
  EXPECT_EQ(shape.pulse_volume.count(), 28.0);  // 40 / 3 = 13.3: 13, 13 and 14 steps
  EXPECT_EQ(volume_of(shape, 0, settings).count(), 26.0);
  EXPECT_EQ(volume_of(shape, 1, settings).count(), 26.0);
  EXPECT_EQ(volume_of(shape, 2, settings).count(), 28.0);
}

TEST(TimerSteps, that_a_window_does_not_fill_leave_it_without_pulses) {
  const PlanShape shape = shape_within(coarse(), 15.9_mL);
  EXPECT_EQ(shape.pulses_per_window, 0);
  EXPECT_EQ(shape.steps, 0);
  EXPECT_EQ(shape.window_volume.count(), 0.0);
}

TEST(TimerSteps, round_the_shape_of_a_plan_up_to_what_a_window_may_come_to) {
  PlanSettings settings = coarse();
  settings.day_volume = 1080.0_mL;  // 90 mL a window
  EXPECT_EQ(shape_of(settings).steps, 6);
  settings.day_volume = 960.0_mL;  // 80 mL: 5 steps to a hair
  EXPECT_EQ(shape_of(settings).steps, 5);
}

TEST(TimerSteps, above_a_pulse_are_refused_with_the_arithmetic) {
  PlanSettings settings = coarse();
  const PlanBounds bounds{200.0_mL, 1000.0_mL};
  EXPECT_EQ(objections_to(settings, bounds), std::vector<std::string>{});
  settings.pulse_max = 16.0_mL;
  EXPECT_EQ(objections_to(settings, bounds), std::vector<std::string>{});
  settings.pulse_max = 15.9_mL;
  ASSERT_EQ(objections_to(settings, bounds).size(), 1U);
  EXPECT_NE(objections_to(settings, bounds)[0].find("24.0 s, gives 16.0 mL"), std::string::npos)
      << objections_to(settings, bounds)[0];
  settings = coarse();
  settings.pulse_duration_max = 23s;
  EXPECT_EQ(objections_to(settings, bounds).size(), 1U);
}

RC_GTEST_PROP(TimerSteps, lose_and_invent_nothing, ()) {
  PlanSettings settings = scenario();
  settings.timer_step = std::chrono::milliseconds{*rc::gen::inRange(1, 45'000)};
  const Millilitres asked{*rc::gen::inRange(1, 2'000'000) / 1000.0};
  const PlanShape shape = shape_within(settings, asked);
  const Millilitres step = least_pulse(settings);
  RC_ASSERT(shape.window_volume <= asked + 0.000001_mL);
  RC_ASSERT(asked - shape.window_volume < step + 0.000001_mL);
  Millilitres given;
  for (int index = 0; index < shape.pulses_per_window; ++index) {
    const Millilitres pulse = volume_of(shape, index, settings);
    RC_ASSERT(pulse >= step * 0.999999);
    RC_ASSERT(pulse <= shape.pulse_volume + 0.000001_mL);
    RC_ASSERT(pulse <= settings.pulse_max + 0.000001_mL);
    RC_ASSERT(duration_of(pulse, settings) % settings.timer_step == Duration::zero());
    given += pulse;
  }
  RC_ASSERT(std::abs((given - shape.window_volume).count()) < 1e-6);
}

}  // namespace
}  // namespace limegate::dosing
