// How a day's volume is spread over it, against arithmetic done by hand and against a search.

#include "dosing/spread.h"

#include <cmath>
#include <numbers>
#include <numeric>

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "dosing/plan_fit.h"

namespace limegate::dosing {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

double mean(const DayWeights& weights) {
  return std::accumulate(weights.begin(), weights.end(), 0.0) / 96.0;
}

/// A swing of 0.3 with its low in the morning: common practice, 0.2 to 0.4 in reef tanks.
DayOfPh day_of_ph(double day_rise) {
  DayOfPh day{{}, PhChange{day_rise}, 4h};
  for (std::size_t n = 0; n < 96; ++n) {
    const double turn = 2.0 * std::numbers::pi * (static_cast<double>(n) - 28.0) / 96.0;
    day.undosed[n] = 8.15 - 0.15 * std::cos(turn);
  }
  return day;
}

/// The highest less the lowest pH of a day, each day the same.
double swing(const DayOfPh& day, const DayWeights& weights) {
  const double keeps = std::exp(-0.25 / 4.0);
  double added = 0.0;
  double low = 99.0;
  double high = 0.0;
  for (int n = 0; n < 10 * 96; ++n) {
    const auto at = static_cast<std::size_t>(n % 96);
    added = added * keeps + day.day_rise.count() * weights[at] / 96.0;
    if (n >= 9 * 96) {
      low = std::min(low, day.undosed[at] + added);
      high = std::max(high, day.undosed[at] + added);
    }
  }
  return high - low;
}

TEST(NightWeights, put_the_share_into_the_hours) {
  const DayWeights weights = weights_at_night({22h, 8h}, 0.7);
  EXPECT_NEAR(mean(weights), 1.0, 1e-12);
  EXPECT_NEAR(weights[0], 0.7 * 24 / 10, 1e-12);   // 70 % in 10 of 24 h: 1.68
  EXPECT_NEAR(weights[31], 1.68, 1e-12);           // until 08:00
  EXPECT_NEAR(weights[32], 0.3 * 24 / 14, 1e-12);  // 30 % in 14 h: 0.514
  EXPECT_NEAR(weights[87], 0.3 * 24 / 14, 1e-12);
  EXPECT_NEAR(weights[88], 1.68, 1e-12);  // from 22:00
}

TEST(NightWeights, begin_and_end_within_a_quarter) {
  const DayWeights weights = weights_at_night({12h + 5min, 13h + 10min}, 0.5);
  EXPECT_NEAR(mean(weights), 1.0, 1e-12);
  const double within = 0.5 * 96 * 15 / 65;
  const double outside = 0.5 * 96 * 15 / (1440 - 65);
  EXPECT_NEAR(weights[48], (10 * within + 5 * outside) / 15, 1e-9);
  EXPECT_NEAR(weights[49], within, 1e-9);
  EXPECT_NEAR(weights[52], (10 * within + 5 * outside) / 15, 1e-9);
  EXPECT_NEAR(weights[53], outside, 1e-9);
}

TEST(WeightOver, is_the_mean_over_a_span_that_may_pass_midnight) {
  DayWeights weights{};
  weights[0] = 96.0;
  EXPECT_NEAR(weight_over(weights, 0min, 15min), 96.0, 1e-9);
  EXPECT_NEAR(weight_over(weights, 23h, 2h), 12.0, 1e-9);
  EXPECT_NEAR(weight_over(weights, 5min, 10min), 96.0, 1e-9);
  EXPECT_NEAR(weight_over(weights, 5min, 20min), 48.0, 1e-9);
  EXPECT_NEAR(weight_over(weights, 7h, 24h), 1.0, 1e-9);
  EXPECT_NEAR(largest_weight(weights, 2h), 12.0, 1e-9);
}

RC_GTEST_PROP(WeightOver, of_cycles_that_are_a_day_is_the_day, ()) {
  const auto night = HoursOfDay{std::chrono::minutes{*rc::gen::inRange(0, 720)},
                                std::chrono::minutes{*rc::gen::inRange(721, 1440)}};
  const DayWeights weights = weights_at_night(night, *rc::gen::inRange(0, 100) / 100.0);
  const int cycles = *rc::gen::element(6, 12, 16, 24, 48);
  const Duration every = Duration{24h} / cycles;
  const Duration first = std::chrono::seconds{*rc::gen::inRange(0, 86400)};
  double sum = 0.0;
  for (int n = 0; n < cycles; ++n) {
    const double weight = weight_over(weights, (first + every * n) % Duration{24h}, every);
    RC_ASSERT(weight <= largest_weight(weights, every) + 0.2);
    sum += weight;
  }
  RC_ASSERT(std::abs(sum / cycles - 1.0) < 1e-9);
}

TEST(Levelling, places_the_volume_where_ph_is_lowest_and_shrinks_the_swing) {
  const DayOfPh day = day_of_ph(0.45);
  const DayWeights weights = levelling_weights(day, 2.5);
  EXPECT_NEAR(mean(weights), 1.0, 1e-6);
  EXPECT_NEAR(weights[24], 2.5, 1e-6) << "an hour before the low, which is at 07:00";
  EXPECT_NEAR(weights[76], 0.2, 1e-6) << "the high is at 19:00";
  DayWeights even{};
  even.fill(1.0);
  EXPECT_LT(swing(day, weights), 0.75 * swing(day, even));
}

TEST(Levelling, is_no_worse_than_any_block_of_hours) {
  const DayOfPh day = day_of_ph(0.45);
  const double levelled = swing(day, levelling_weights(day, 2.5));
  for (int from = 0; from < 96; ++from) {
    DayWeights block{};
    block.fill(0.2);
    for (int n = 0; n < 34; ++n) {  // 34 quarters of 2.46 and 62 of 0.2 are 96
      block[static_cast<std::size_t>((from + n) % 96)] = (96.0 - 62 * 0.2) / 34;
    }
    // It makes the sum of squares least, which is nearly the least swing.
    EXPECT_LE(levelled, swing(day, block) + 0.004) << from;
  }
}

TEST(Levelling, does_not_turn_the_swing_over_where_doses_do_much) {
  const DayOfPh day = day_of_ph(2.5);
  DayWeights even{};
  even.fill(1.0);
  EXPECT_LT(swing(day, levelling_weights(day, 6.0)), 0.5 * swing(day, even));
}

TEST(Levelling, of_a_flat_day_is_even) {
  DayOfPh day = day_of_ph(0.45);
  day.undosed.fill(8.2);
  for (const double weight : levelling_weights(day, 3.0)) {
    EXPECT_NEAR(weight, 1.0, 0.11);
  }
}

TEST(Levelling, without_room_is_even) {
  for (const double weight : levelling_weights(day_of_ph(0.45), 0.5)) {
    EXPECT_NEAR(weight, 1.0, 1e-6);
  }
}

TEST(MissedVolume, is_made_up_oldest_first_and_forgotten_after_a_day) {
  MissedVolume missed;
  missed.add(Instant{0h}, Millilitres{10.0});
  missed.add(Instant{2h}, Millilitres{20.0});
  missed.add(Instant{4h}, Millilitres{-5.0});
  EXPECT_EQ(missed.pending(Instant{4h}).count(), 30.0);
  missed.made_up(Millilitres{15.0});
  EXPECT_EQ(missed.pending(Instant{24h}).count(), 15.0);
  EXPECT_EQ(missed.pending(Instant{26h}).count(), 15.0);
  EXPECT_EQ(missed.pending(Instant{26h} + 1ns).count(), 0.0);
  missed.add(Instant{30h}, Millilitres{7.0});
  missed.made_up(Millilitres{9.0});
  EXPECT_EQ(missed.pending(Instant{30h}).count(), 0.0);
}

PlanSettings plan() {
  PlanSettings settings;
  settings.day_volume = Millilitres{960.0};  // 80 mL a window of 45 min
  settings.pulse_max = Millilitres{30.0};
  settings.pump_rate = MillilitresPerMinute{40.0};
  return settings;
}

TEST(MostWeight, is_what_the_hour_the_slots_and_the_reactor_bear) {
  const PlanBounds roomy{Millilitres{1e6}, Millilitres{1e6}};
  EXPECT_NEAR(most_weight(plan(), {Millilitres{120.0}, Millilitres{1e6}}), 1.5, 0.002);
  EXPECT_EQ(most_weight(plan(), {Millilitres{10.0}, Millilitres{1e6}}), 1.0) << "never less";
  // 150 mm/h in a bore of 100 mm for 45 min: 0.15 m/h x 0.00785 m² x 0.75 h = 884 mL, 11 times 80.
  PlanSettings quick = plan();
  quick.pump_rate = MillilitresPerMinute{200.0};
  EXPECT_NEAR(most_weight(quick, roomy), 11.04, 0.01);
  PlanSettings slow = plan();
  slow.reactor_bore = Millimetres{1000.0};
  slow.pulse_max = Millilitres{10.0};  // 15 s and a minute of calm: 36 pulses in 45 min, 360 mL
  EXPECT_NEAR(most_weight(slow, roomy), 4.5, 0.01);
}

/// What an objection names as the nearest fix fits, and a millilitre more does not.
void expect_nearest(const PlanSettings& asked, const PlanBounds& bounds, const std::string& why) {
  const auto objections = objections_to(asked, bounds);
  ASSERT_FALSE(objections.empty());
  EXPECT_NE(objections[0].find(why), std::string::npos) << objections[0];
  const std::string words = "give at most ";
  const auto at = objections[0].find(words);
  ASSERT_NE(at, std::string::npos) << objections[0];
  PlanSettings nearest = asked;
  nearest.day_volume = Millilitres{std::stod(objections[0].substr(at + words.size()))};
  EXPECT_GT(nearest.day_volume.count(), 0.0);
  EXPECT_TRUE(objections_to(nearest, bounds).empty()) << objections[0];
  nearest.day_volume += Millilitres{1.0};
  EXPECT_FALSE(objections_to(nearest, bounds).empty()) << objections[0];
}

TEST(Objections, name_the_nearest_volume_that_fits) {
  const PlanBounds roomy{Millilitres{1e6}, Millilitres{1e6}};
  PlanSettings asked = plan();
  expect_nearest(asked, {Millilitres{70.0}, Millilitres{1e6}}, "fall into one hour");
  expect_nearest(asked, {Millilitres{1e6}, Millilitres{900.0}}, "above max_day_ml");
  asked.spread = Spread::night;
  expect_nearest(asked, {Millilitres{120.0}, Millilitres{1e6}}, "fall into one hour");
  asked = plan();
  asked.pulse_max = Millilitres{1.0};
  expect_nearest(asked, roomy, "leave");
  asked = plan();
  asked.reactor_bore = Millimetres{20.0};
  expect_nearest(asked, roomy, "lift the bed");
}

// To these nothing objects, and to a tenth of a millilitre more something does.
TEST(MostADay, is_the_largest_volume_that_fits) {
  const auto expect_most = [](const PlanSettings& asked, const PlanBounds& bounds) {
    PlanSettings most = asked;
    most.day_volume = most_a_day(asked, bounds);
    EXPECT_LE(most.day_volume, bounds.day);
    EXPECT_TRUE(objections_to(most, bounds).empty()) << most.day_volume.count();
    most.day_volume += Millilitres{0.11};
    EXPECT_FALSE(objections_to(most, bounds).empty()) << most.day_volume.count();
  };
  PlanSettings asked = plan();
  expect_most(asked, {Millilitres{1e6}, Millilitres{1234.5678}});
  EXPECT_EQ(most_a_day(asked, {Millilitres{1e6}, Millilitres{1234.5678}}), Millilitres{1234.5});
  expect_most(asked, {Millilitres{70.0}, Millilitres{1e6}});
  asked.spread = Spread::night;
  expect_most(asked, {Millilitres{120.0}, Millilitres{1e6}});
  asked = plan();
  asked.reactor_bore = Millimetres{20.0};
  expect_most(asked, {Millilitres{1e6}, Millilitres{1e6}});
  EXPECT_EQ(most_a_day(asked, {Millilitres{1e6}, Millilitres{0.0}}), Millilitres{0.0});
}

TEST(Objections, name_a_reactor_that_is_wide_enough) {
  PlanSettings asked = plan();
  asked.reactor_bore = Millimetres{20.0};
  const auto objections = objections_to(asked, {Millilitres{1e6}, Millilitres{1e6}});
  // 80 mL in 45 min: 106.7 cm³/h over 270 mm/h is 3.95 cm², a bore of 22.4 mm.
  EXPECT_NE(objections.at(0).find("a reactor of 23 mm"), std::string::npos) << objections[0];
}

TEST(NightPlan, is_judged_by_its_fullest_window) {
  PlanSettings night = plan();
  night.spread = Spread::night;  // 70 % within 10 h: 1.68 times 80 mL = 134.4
  EXPECT_NEAR(fullest_weight(night), 1.68, 1e-9);
  EXPECT_TRUE(objections_to(night, {Millilitres{134.5}, Millilitres{1000.0}}).empty());
  const auto objections = objections_to(night, {Millilitres{134.3}, Millilitres{1000.0}});
  ASSERT_EQ(objections.size(), 1U);
  EXPECT_NE(objections[0].find("134.4 mL fall into one hour"), std::string::npos) << objections[0];
}

}  // namespace
}  // namespace limegate::dosing
