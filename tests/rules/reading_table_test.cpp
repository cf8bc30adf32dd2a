// What the rules make of the two readings: every reason, and readings that call themselves good.

#include <gtest/gtest.h>

#include "rules/row.h"

namespace limegate::rules {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using signal::Quality;
using signal::Reason;

class ReadingTable : public testing::TestWithParam<Row> {};

TEST_P(ReadingTable, holds_for_exactly_these_reasons) {
  Scene scene;
  GetParam().spoil(scene);
  EXPECT_EQ(scene.codes(), GetParam().codes);
}

void label(signal::Reading& reading, Quality quality, Reason reason) {
  reading.quality = quality;
  reading.reason = reason;
}
void show(signal::Reading& reading, double value) { reading.value = reading.newest = value; }

const Row kRows[] = {
    {"ph_absent", [](Scene& s) { s.known.ph = {}; }, {"ph-missing"}},
    {"temperature_absent", [](Scene& s) { s.known.temperature = {}; }, {"temperature-missing"}},
    {"ph_stale", [](Scene& s) { label(s.known.ph, Quality::bad, Reason::stale); }, {"ph-stale"}},
    {"ph_without_communication",
     [](Scene& s) { label(s.known.ph, Quality::bad, Reason::no_communication); },
     {"ph-stale"}},
    {"ph_not_a_number",
     [](Scene& s) { label(s.known.ph, Quality::bad, Reason::not_a_number); },
     {"ph-not-a-number"}},
    {"ph_implausible",
     [](Scene& s) { label(s.known.ph, Quality::bad, Reason::implausible); },
     {"ph-implausible"}},
    {"ph_stuck", [](Scene& s) { label(s.known.ph, Quality::bad, Reason::stuck); }, {"ph-stuck"}},
    {"ph_unsteady",
     [](Scene& s) { label(s.known.ph, Quality::uncertain, Reason::unsteady); },
     {"ph-unsteady"}},
    {"temperature_stale",
     [](Scene& s) { label(s.known.temperature, Quality::bad, Reason::stale); },
     {"temperature-stale"}},
    {"temperature_without_communication",
     [](Scene& s) { label(s.known.temperature, Quality::bad, Reason::no_communication); },
     {"temperature-stale"}},
    {"temperature_not_a_number",
     [](Scene& s) { label(s.known.temperature, Quality::bad, Reason::not_a_number); },
     {"temperature-not-a-number"}},
    {"temperature_implausible",
     [](Scene& s) { label(s.known.temperature, Quality::bad, Reason::implausible); },
     {"temperature-implausible"}},
    {"temperature_stuck",
     [](Scene& s) { label(s.known.temperature, Quality::bad, Reason::stuck); },
     {"temperature-stuck"}},
    {"temperature_unsteady",
     [](Scene& s) { label(s.known.temperature, Quality::uncertain, Reason::unsteady); },
     {"temperature-unsteady"}},
    {"ph_uncertain_and_names_no_reason",
     [](Scene& s) { label(s.known.ph, Quality::uncertain, Reason::none); },
     {"ph-missing"}},
    {"temperature_bad_and_names_no_reason",
     [](Scene& s) { label(s.known.temperature, Quality::bad, Reason::none); },
     {"temperature-missing"}},
    {"ph_good_and_names_a_reason",
     [](Scene& s) { label(s.known.ph, Quality::good, Reason::unsteady); },
     {"ph-unsteady"}},

    // Good by its label; the rules look for themselves. The age limit is 10 s.
    {"ph_good_and_as_old_as_allowed", [](Scene& s) { s.known.ph.age = 10s; }, {}},
    {"ph_good_and_a_tick_too_old", [](Scene& s) { s.known.ph.age = 10s + 1ns; }, {"ph-stale"}},
    {"ph_as_old_as_allowed_while_limewater_flows",
     [](Scene& s) {
       s.known.flowing_for = 60s;
       s.known.ph.age = 2s;
     },
     {}},
    {"ph_a_tick_too_old_while_limewater_flows",
     [](Scene& s) {
       s.known.flowing_for = 60s;
       s.known.ph.age = 2s + 1ns;
     },
     {"ph-stale"}},
    {"ph_older_than_the_flow_itself",
     [](Scene& s) {
       s.known.flowing_for = 2s;
       s.known.ph.age = 9s;
     },
     {}},
    {"temperature_is_read_no_more_often_while_limewater_flows",
     [](Scene& s) {
       s.known.flowing_for = 60s;
       s.known.temperature.age = 9s;
     },
     {}},
    {"ph_good_and_of_this_instant", [](Scene& s) { s.known.ph.age = 0s; }, {}},
    {"ph_good_and_of_the_future", [](Scene& s) { s.known.ph.age = -1ns; }, {"ph-stale"}},
    {"temperature_good_and_as_old_as_allowed", [](Scene& s) { s.known.temperature.age = 10s; }, {}},
    {"temperature_good_and_a_tick_too_old",
     [](Scene& s) { s.known.temperature.age = 10s + 1ns; },
     {"temperature-stale"}},
    {"temperature_good_and_of_the_future",
     [](Scene& s) { s.known.temperature.age = -1ns; },
     {"temperature-stale"}},
    {"ph_good_and_its_median_is_not_a_number",
     [](Scene& s) { s.known.ph.value = kNan; },
     {"ph-ceiling", "ph-not-a-number", "ph-second-ceiling"}},
    {"ph_good_and_its_newest_is_not_a_number",
     [](Scene& s) { s.known.ph.newest = kNan; },
     {"ph-not-a-number"}},
    {"ph_good_and_infinite",
     [](Scene& s) { show(s.known.ph, kInf); },
     {"ph-ceiling", "ph-not-a-number", "ph-second-ceiling"}},
    {"ph_good_and_minus_infinite", [](Scene& s) { show(s.known.ph, -kInf); }, {"ph-not-a-number"}},
    {"ph_good_at_its_plausible_low", [](Scene& s) { show(s.known.ph, 7.1); }, {}},
    {"ph_good_below_its_plausible_low",
     [](Scene& s) { show(s.known.ph, just_below(7.1)); },
     {"ph-implausible"}},
    {"ph_good_and_its_median_alone_implausible",
     [](Scene& s) { s.known.ph.value = just_below(7.1); },
     {"ph-implausible"}},
    {"ph_good_at_its_plausible_high",
     [](Scene& s) { show(s.known.ph, 9.2); },
     {"ph-ceiling", "ph-second-ceiling"}},
    {"ph_good_above_its_plausible_high",
     [](Scene& s) { show(s.known.ph, just_above(9.2)); },
     {"ph-ceiling", "ph-implausible", "ph-second-ceiling"}},
    {"temperature_good_and_not_a_number",
     [](Scene& s) { s.known.temperature.value = kNan; },
     {"temperature-not-a-number"}},
    {"temperature_good_and_its_newest_not_a_number",
     [](Scene& s) { s.known.temperature.newest = kNan; },
     {"temperature-not-a-number"}},
    {"temperature_good_and_infinite",
     [](Scene& s) { show(s.known.temperature, kInf); },
     {"temperature-not-a-number"}},
    {"temperature_good_and_minus_infinite",
     [](Scene& s) { show(s.known.temperature, -kInf); },
     {"temperature-not-a-number"}},
    {"temperature_good_at_its_plausible_low",
     [](Scene& s) { show(s.known.temperature, 15.0); },
     {}},
    {"temperature_good_below_its_plausible_low",
     [](Scene& s) { show(s.known.temperature, just_below(15.0)); },
     {"temperature-implausible"}},
    {"temperature_good_at_its_plausible_high",
     [](Scene& s) { show(s.known.temperature, 35.0); },
     {}},
    {"temperature_good_above_its_plausible_high",
     [](Scene& s) { show(s.known.temperature, just_above(35.0)); },
     {"temperature-implausible"}},
    {"plausible_low_is_not_a_number",
     [](Scene& s) { s.limits.temperature_plausible_low = kNan; },
     {"temperature-implausible"}},
};
INSTANTIATE_TEST_SUITE_P(, ReadingTable, testing::ValuesIn(kRows),
                         [](const auto& row) { return std::string{row.param.name}; });

TEST(Judge, an_implausible_reading_is_shown_with_the_value_that_makes_it_so) {
  Scene scene;
  scene.known.ph.value = 6.5;  // the newest, 8.2, is plausible
  const auto holds = scene.judged().holds;
  ASSERT_EQ(holds.size(), 1U);
  EXPECT_EQ(std::get<ProbeImplausible>(holds.front()).value, 6.5);
}

}  // namespace
}  // namespace limegate::rules
