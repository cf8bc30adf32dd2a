// Stirrer, outlets, ledger, pause, allowances and disturbance: below, at and above each threshold,
// absent, not a number, infinite, in the future.

#include <gtest/gtest.h>

#include "rules/row.h"

namespace limegate::rules {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

constexpr Duration kTick{1};

class FactTable : public testing::TestWithParam<Row> {};

TEST_P(FactTable, holds_for_exactly_these_reasons) {
  Scene scene;
  GetParam().spoil(scene);
  EXPECT_EQ(scene.codes(), GetParam().codes);
}

void step_by_chemistry(Scene& s, double step, double rise_per_ml) {
  s.known.least_pulse = Millilitres{step};
  s.known.rise_per_ml = PhChange{rise_per_ml};
}
void hour_by_chemistry(Scene& s, double given, double rise_per_ml) {
  s.known.given_hour = Millilitres{given};
  s.known.next_pulse = Millilitres{10.0};
  s.known.rise_per_ml = PhChange{rise_per_ml};
}
void tested(Scene& s, double dkh, Duration ago = 24h) {
  s.known.alkalinity = TestedAlkalinity{Dkh{dkh}, ago};
}
void effect(Scene& s, double share, double at_least, double of_chemistry = 3.0) {
  s.known.dose_effect = DoseEffect{share, at_least, of_chemistry};
}
void set_hour(Scene& s, double given, double next) {
  s.known.given_hour = Millilitres{given};
  s.known.next_pulse = Millilitres{next};
}

const Row kRows[] = {
    {"nothing_spoiled_is_open", [](Scene&) {}, {}},

    {"stirrer_running",
     [](Scene& s) { s.known.stirrer.state = StirrerKnown::State::running; },
     {"stirrer-running"}},
    {"stirrer_unknown",
     [](Scene& s) { s.known.stirrer.state = StirrerKnown::State::unknown; },
     {"stirrer-unknown"}},
    {"stirrer_as_never_told", [](Scene& s) { s.known.stirrer = {}; }, {"stirrer-unknown"}},
    {"stir_overdue",
     [](Scene& s) {
       s.known.stirrer = {StirrerKnown::State::unknown, s.now, StirrerKnown::Rhythm::overdue};
     },
     {"stir-overdue", "stirrer-unknown"}},
    {"stir_endless",
     [](Scene& s) {
       s.known.stirrer = {StirrerKnown::State::running, s.now, StirrerKnown::Rhythm::endless};
     },
     {"stir-endless", "stirrer-running"}},
    {"settle_one_tick_short",
     [](Scene& s) { s.known.stirrer.rested_since = s.now - 60min + kTick; },
     {"settling"}},
    {"settle_exactly_passed", [](Scene& s) { s.known.stirrer.rested_since = s.now - 60min; }, {}},
    {"settle_passed_by_a_tick",
     [](Scene& s) { s.known.stirrer.rested_since = s.now - 60min - kTick; },
     {}},
    {"rested_since_the_future",
     [](Scene& s) { s.known.stirrer.rested_since = s.now + 1s; },
     {"settling"}},
    {"rested_since_just_now", [](Scene& s) { s.known.stirrer.rested_since = s.now; }, {"settling"}},

    {"pump_unconfirmed",
     [](Scene& s) { s.known.pump_outlet = OutletKnown::unconfirmed; },
     {"pump-unconfirmed"}},
    {"stirrer_unconfirmed",
     [](Scene& s) { s.known.stirrer_outlet = OutletKnown::unconfirmed; },
     {"stirrer-unconfirmed"}},
    {"pump_stuck_on",
     [](Scene& s) { s.known.pump_outlet = OutletKnown::stuck_on; },
     {"pump-stuck-on"}},
    {"stirrer_stuck_on",
     [](Scene& s) { s.known.stirrer_outlet = OutletKnown::stuck_on; },
     {"stirrer-stuck-on"}},
    {"pump_stuck_before_and_well_now",
     [](Scene& s) { s.memory.pump_stuck_latched = true; },
     {"pump-stuck-on"}},
    {"stirrer_stuck_before_and_well_now",
     [](Scene& s) { s.memory.stirrer_stuck_latched = true; },
     {"stirrer-stuck-on"}},
    {"pump_found_on_once", [](Scene& s) { s.known.pump_found = Found::once; }, {}},
    {"pump_found_on_again", [](Scene& s) { s.known.pump_found = Found::again; }, {"pump-found-on"}},
    {"stirrer_found_on_again",
     [](Scene& s) { s.known.stirrer_found = Found::again; },
     {"stirrer-found-on"}},
    {"pump_found_on_before_and_well_now",
     [](Scene& s) { s.memory.pump_found_latched = true; },
     {"pump-found-on"}},
    {"timer_failed",
     [](Scene& s) { s.known.pump_timer = Snapshot::PumpTimer::failed; },
     {"pump-timer-failed"}},
    {"timer_failed_before_and_trusted_now",
     [](Scene& s) { s.memory.pump_timer_latched = true; },
     {"pump-timer-failed"}},

    {"switched_off", [](Scene& s) { s.memory.switched_off_latched = true; }, {"switched-off"}},

    {"ledger_fault", [](Scene& s) { s.known.ledger_fault = "disk full"; }, {"ledger-not-writable"}},
    {"ledger_fault_without_words",
     [](Scene& s) { s.known.ledger_fault = ""; },
     {"ledger-not-writable"}},
    {"ledger_never_opened",
     [](Scene& s) { s.known.ledger_fault = Snapshot{}.ledger_fault; },
     {"ledger-not-writable"}},

    {"disk_slow_for_another_tick",
     [](Scene& s) { s.known.disk_slow_until = s.now + kTick; },
     {"disk-slow"}},
    {"disk_slow_over_exactly_now", [](Scene& s) { s.known.disk_slow_until = s.now; }, {}},
    {"disk_slow_over_since_a_tick", [](Scene& s) { s.known.disk_slow_until = s.now - kTick; }, {}},

    {"pause_for_another_tick", [](Scene& s) { s.known.paused_until = s.now + kTick; }, {"paused"}},
    {"pause_over_exactly_now", [](Scene& s) { s.known.paused_until = s.now; }, {}},
    {"pause_over_since_a_tick", [](Scene& s) { s.known.paused_until = s.now - kTick; }, {}},

    {"disturbed_for_another_tick",
     [](Scene& s) { s.known.disturbed_until = s.now + kTick; },
     {"ph-disturbed"}},
    {"disturbance_over_exactly_now", [](Scene& s) { s.known.disturbed_until = s.now; }, {}},
    {"disturbance_over_since_a_tick", [](Scene& s) { s.known.disturbed_until = s.now - 1s; }, {}},

    // Limits 40 and 400 mL; sums may carry a thousandth of a millilitre of rounding.
    {"hour_below_its_limit", [](Scene& s) { set_hour(s, 29.9, 10.0); }, {}},
    {"hour_at_its_limit", [](Scene& s) { set_hour(s, 30.0, 10.0); }, {}},
    {"hour_at_its_limit_and_rounding", [](Scene& s) { set_hour(s, 40.0 + 0.001, 0.0); }, {}},
    {"hour_above_its_limit_and_rounding",
     [](Scene& s) { set_hour(s, just_above(40.0 + 0.001), 0.0); },
     {"hour-allowance-spent"}},
    {"hour_above_its_limit", [](Scene& s) { set_hour(s, 30.1, 10.0); }, {"hour-allowance-spent"}},
    {"day_in_force_at_its_limit", [](Scene& s) { s.known.day_in_force = Millilitres{110.0}; }, {}},
    {"day_in_force_above_its_limit",
     [](Scene& s) { s.known.day_in_force = Millilitres{109.9}; },
     {"day-allowance-spent"}},
    {"day_in_force_is_not_a_number",
     [](Scene& s) { s.known.day_in_force = Millilitres{kNan}; },
     {"day-allowance-spent"}},
    {"day_in_force_never_loosens_the_limit",
     [](Scene& s) {
       s.known.given_day = Millilitres{400.0};
       s.known.day_in_force = Millilitres{4000.0};
     },
     {"day-allowance-spent"}},
    {"hour_given_is_not_a_number",
     [](Scene& s) { set_hour(s, kNan, 10.0); },
     {"hour-allowance-spent"}},
    {"hour_given_is_infinite", [](Scene& s) { set_hour(s, kInf, 10.0); }, {"hour-allowance-spent"}},
    {"hour_given_is_minus_infinite",
     [](Scene& s) { set_hour(s, -kInf, 10.0); },
     {"hour-allowance-spent"}},
    // By chemistry 0.08 pH in an hour: at 0.0025 a millilitre that is 32 mL of the 40.
    {"hour_by_chemistry_below_its_limit", [](Scene& s) { hour_by_chemistry(s, 21.9, 0.0025); }, {}},
    {"hour_by_chemistry_at_its_limit", [](Scene& s) { hour_by_chemistry(s, 22.0, 0.0025); }, {}},
    {"hour_by_chemistry_above_its_limit",
     [](Scene& s) { hour_by_chemistry(s, 22.1, 0.0025); },
     {"hour-allowance-spent"}},
    {"hour_by_chemistry_is_never_above_the_configured_one",
     [](Scene& s) { hour_by_chemistry(s, 30.1, 0.0001); },
     {"hour-allowance-spent"}},
    {"hour_by_a_response_that_is_not_a_number",
     [](Scene& s) { hour_by_chemistry(s, 0.0, kNan); },
     {"hour-allowance-spent"}},
    {"hour_by_a_response_of_zero",
     [](Scene& s) { hour_by_chemistry(s, 0.0, 0.0); },
     {"hour-allowance-spent"}},
    {"hour_by_a_response_below_zero",
     [](Scene& s) { hour_by_chemistry(s, 0.0, -0.0025); },
     {"hour-allowance-spent"}},
    {"hour_by_an_infinite_response",
     [](Scene& s) { hour_by_chemistry(s, 0.0, kInf); },
     {"hour-allowance-spent"}},
    {"hour_by_a_rise_that_is_not_a_number",
     [](Scene& s) {
       hour_by_chemistry(s, 0.0, 0.0025);
       s.limits.hour_rise = PhChange{kNan};
     },
     {"hour-allowance-spent"}},
    // By chemistry 0.02 pH at once: at 0.002 a millilitre that is 10 mL.
    {"timer_step_below_its_limit", [](Scene& s) { step_by_chemistry(s, 9.9, 0.002); }, {}},
    {"timer_step_at_its_limit", [](Scene& s) { step_by_chemistry(s, 10.0, 0.002); }, {}},
    {"timer_step_above_its_limit",
     [](Scene& s) { step_by_chemistry(s, 10.1, 0.002); },
     {"timer-step-too-long"}},
    {"timer_step_where_nobody_tested_the_water",
     [](Scene& s) { s.known.least_pulse = Millilitres{100.0}; },
     {}},
    {"timer_step_is_not_a_number",
     [](Scene& s) { step_by_chemistry(s, kNan, 0.002); },
     {"timer-step-too-long"}},
    {"timer_step_is_not_a_number_where_nobody_tested_the_water",
     [](Scene& s) { s.known.least_pulse = Millilitres{kNan}; },
     {"timer-step-too-long"}},
    {"effect_below_its_limit", [](Scene& s) { effect(s, just_below(1.7), 1.6); }, {}},
    {"effect_at_its_limit", [](Scene& s) { effect(s, 1.7, 1.6); }, {"effect-too-large"}},
    {"effect_above_its_limit", [](Scene& s) { effect(s, 3.0, 2.0); }, {"effect-too-large"}},
    {"effect_above_but_not_surely", [](Scene& s) { effect(s, 3.0, just_below(1.3)); }, {}},
    {"effect_above_and_surely", [](Scene& s) { effect(s, 3.0, 1.3); }, {"effect-too-large"}},
    {"effect_that_chemistry_allows", [](Scene& s) { effect(s, 3.0, 2.0, just_below(1.8)); }, {}},
    {"effect_beyond_chemistry", [](Scene& s) { effect(s, 3.0, 2.0, 1.8); }, {"effect-too-large"}},
    {"effect_by_chemistry_is_not_a_number",
     [](Scene& s) { effect(s, 3.0, 2.0, kNan); },
     {"effect-too-large"}},
    {"effect_is_not_a_number", [](Scene& s) { effect(s, kNan, kNan); }, {"effect-too-large"}},
    {"effect_is_infinite", [](Scene& s) { effect(s, kInf, kInf); }, {"effect-too-large"}},
    {"effect_latched_before_and_not_seen_now",
     [](Scene& s) { s.memory.effect_too_large_latched = true; },
     {"effect-too-large"}},
    {"alkalinity_below_its_limit", [](Scene& s) { tested(s, just_below(11.0)); }, {}},
    {"alkalinity_at_its_limit", [](Scene& s) { tested(s, 11.0); }, {}},
    {"alkalinity_above_its_limit",
     [](Scene& s) { tested(s, std::nextafter(11.0, 12.0)); },
     {"alkalinity-too-high"}},
    {"alkalinity_is_not_a_number", [](Scene& s) { tested(s, kNan); }, {"alkalinity-too-high"}},
    {"alkalinity_is_infinite", [](Scene& s) { tested(s, kInf); }, {"alkalinity-too-high"}},
    {"alkalinity_limit_is_not_a_number",
     [](Scene& s) {
       tested(s, 8.0);
       s.limits.alkalinity_max = Dkh{kNan};
     },
     {"alkalinity-too-high"}},
    {"alkalinity_above_its_limit_long_ago",
     [](Scene& s) { tested(s, 12.0, 24h * 400); },
     {"alkalinity-too-high"}},
    {"alkalinity_above_its_limit_in_the_future",
     [](Scene& s) { tested(s, 12.0, -1h); },
     {"alkalinity-too-high"}},
    {"alkalinity_was_above_and_the_book_is_lost",
     [](Scene& s) { s.memory.alkalinity_latched = true; },
     {"alkalinity-too-high"}},
    {"alkalinity_was_above_and_nobody_released_it",
     [](Scene& s) {
       s.memory.alkalinity_latched = true;
       tested(s, 8.0);
     },
     {"alkalinity-too-high"}},
    {"hour_limit_is_not_a_number",
     [](Scene& s) { s.limits.hour = Millilitres{kNan}; },
     {"hour-allowance-spent"}},
    {"hour_limit_was_never_set",
     [](Scene& s) { s.limits.hour = Limits{}.hour; },
     {"hour-allowance-spent"}},
    {"next_pulse_is_not_a_number",
     [](Scene& s) { s.known.next_pulse = Millilitres{kNan}; },
     {"day-allowance-spent", "hour-allowance-spent"}},
    {"next_pulse_is_infinite",
     [](Scene& s) { s.known.next_pulse = Millilitres{kInf}; },
     {"day-allowance-spent", "hour-allowance-spent"}},
    {"next_pulse_is_minus_infinite",
     [](Scene& s) { s.known.next_pulse = Millilitres{-kInf}; },
     {"day-allowance-spent", "hour-allowance-spent"}},

    {"day_below_its_limit", [](Scene& s) { s.known.given_day = Millilitres{389.9}; }, {}},
    {"day_at_its_limit", [](Scene& s) { s.known.given_day = Millilitres{390.0}; }, {}},
    {"day_at_its_limit_and_rounding",
     [](Scene& s) {
       s.known.given_day = Millilitres{400.0 + 0.001};
       s.known.next_pulse = Millilitres{0.0};
     },
     {}},
    {"day_above_its_limit_and_rounding",
     [](Scene& s) {
       s.known.given_day = Millilitres{just_above(400.0 + 0.001)};
       s.known.next_pulse = Millilitres{0.0};
     },
     {"day-allowance-spent"}},
    {"day_above_its_limit",
     [](Scene& s) { s.known.given_day = Millilitres{390.1}; },
     {"day-allowance-spent"}},
    {"day_given_is_not_a_number",
     [](Scene& s) { s.known.given_day = Millilitres{kNan}; },
     {"day-allowance-spent"}},
    {"day_given_is_infinite",
     [](Scene& s) { s.known.given_day = Millilitres{kInf}; },
     {"day-allowance-spent"}},
    {"day_given_is_minus_infinite",
     [](Scene& s) { s.known.given_day = Millilitres{-kInf}; },
     {"day-allowance-spent"}},
    {"day_limit_is_not_a_number",
     [](Scene& s) { s.limits.day = Millilitres{kNan}; },
     {"day-allowance-spent"}},
    {"day_of_a_missing_record",
     [](Scene& s) { s.known.given_day = kCountsAsFull; },
     {"day-allowance-spent"}},
};
INSTANTIATE_TEST_SUITE_P(, FactTable, testing::ValuesIn(kRows),
                         [](const auto& row) { return std::string{row.param.name}; });

TEST(Judge, says_every_reason_at_once_and_not_only_the_first) {
  Scene scene;
  scene.known = Snapshot{};  // nothing is known at all
  scene.known.disk_slow_until = scene.known.paused_until = scene.now + 1h;
  scene.known.disturbed_until = scene.now + 30s;
  scene.known.given_hour = scene.known.given_day = kCountsAsFull;
  scene.known.pump_timer = Snapshot::PumpTimer::failed;
  scene.memory = Memory{};
  scene.memory.ceiling_tripped = scene.memory.climb_tripped = true;
  scene.memory.second_ceiling_latched = true;
  scene.memory.unusual_climb_tripped = scene.memory.climb_goes_on_latched = true;
  const std::vector<std::string> all{
      "day-allowance-spent", "disk-slow",         "hour-allowance-spent",
      "ledger-not-writable", "not-yet-proven",    "paused",
      "ph-ceiling",          "ph-climb-goes-on",  "ph-climbing",
      "ph-disturbed",        "ph-missing",        "ph-second-ceiling",
      "ph-unusual-climb",    "pump-timer-failed", "pump-unconfirmed",
      "stirrer-unconfirmed", "stirrer-unknown",   "temperature-missing"};
  EXPECT_EQ(scene.codes(), all);
  EXPECT_FALSE(scene.judged().open());
  EXPECT_TRUE(scene.judged().ends_pulse());
}

TEST(Judge, a_spent_allowance_and_a_disturbed_probe_end_no_pulse_that_runs) {
  Scene scene;
  scene.known.given_hour = scene.known.given_day = Millilitres{400.0};
  scene.known.disturbed_until = scene.now + 1s;
  EXPECT_EQ(scene.judged().holds.size(), 3U);
  EXPECT_FALSE(scene.judged().open());
  EXPECT_FALSE(scene.judged().ends_pulse());
  scene.known.paused_until = scene.now + 1s;
  EXPECT_TRUE(scene.judged().ends_pulse());
}

TEST(Judge, latches_of_outlets_and_timer_stay_when_the_cause_is_gone) {
  Scene scene;
  scene.known.pump_outlet = scene.known.stirrer_outlet = OutletKnown::stuck_on;
  scene.known.pump_timer = Snapshot::PumpTimer::failed;
  const Memory after = scene.judged().memory;
  EXPECT_TRUE(after.pump_stuck_latched);
  EXPECT_TRUE(after.stirrer_stuck_latched);
  EXPECT_TRUE(after.pump_timer_latched);
  Scene later;
  later.memory = after;
  const std::vector<std::string> latched{"pump-stuck-on", "pump-timer-failed", "stirrer-stuck-on"};
  EXPECT_EQ(later.codes(), latched);
}

}  // namespace
}  // namespace limegate::rules
