// What a keeper reads of a rehearsal. The outcomes are made up: a scenario of our own.

#include "app/rehearsal_words.h"

#include <chrono>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "app/rehearsal_advice.h"

namespace limegate::app {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using rehearsal::Fault;
using rehearsal::Outcome;
using ::testing::AllOf;
using ::testing::HasSubstr;
using ::testing::Not;

constexpr Duration kDay = 24h;

config::Station station() {
  config::Station station;
  station.settings.name = "reef";
  station.settings.limits.ceiling = Ph{8.45};
  return station;
}

/// A week in which all was well.
Outcome week() {
  Outcome outcome;
  outcome.lasted = 7 * kDay;
  outcome.planned = outcome.counted = Millilitres{7000.0};
  outcome.delivered = Millilitres{6650.0};
  outcome.pulses = 700;
  outcome.ph_low = 8.02;
  outcome.ph_high = 8.31;
  outcome.powder_g_start = 120;
  outcome.powder_g_end = 100;
  outcome.alkalinity_start = outcome.alkalinity_end = Dkh{8.0};
  return outcome;
}

std::string words(const Outcome& outcome) { return words_of(outcome, station()); }
std::string advice(const Outcome& outcome) {
  std::string all;
  for (const std::string& sentence : advice_on(outcome, station())) {
    all += "  - " + sentence + "\n";
  }
  return all;
}

TEST(RehearsalWords, say_the_lowest_and_the_highest_as_such) {
  EXPECT_THAT(words(week()), HasSubstr("pH was 8.02 at the lowest and 8.31 at the highest"));
}

TEST(RehearsalWords, explain_why_less_flowed_than_counts) {
  EXPECT_THAT(words(week()),
              AllOf(HasSubstr("(95.0 % of the plan)"),
                    HasSubstr("what flowed is 95 % of what counts"), Not(HasSubstr("not begun"))));
  Outcome held = week();
  held.counted = held.delivered = Millilitres{6300.0};
  EXPECT_THAT(words(held),
              AllOf(HasSubstr("10 % of the plan was not begun"), Not(HasSubstr("of what counts"))));
  Outcome undosed = week();
  undosed.planned = undosed.counted = undosed.delivered = Millilitres{};
  EXPECT_THAT(words(undosed), Not(HasSubstr("% of the plan")));
}

TEST(RehearsalWords, say_once_what_a_latch_says_every_day) {
  Outcome outcome = week();
  for (int day = 1; day <= 4; ++day) {
    outcome.alerts.push_back({day * kDay + 2h,
                              {WallTime{}, station::Severity::alert, "held-ph-second-ceiling",
                               "Held for " + std::to_string(day) + " days."}});
  }
  outcome.alerts.push_back({5 * kDay, {WallTime{}, station::Severity::alert, "ph-stale", "Old."}});
  const std::string text = words(outcome);
  EXPECT_THAT(text,
              HasSubstr("day 2, 02:00: Held for 1 days. (again 3 times, last on day 5, 02:00)"));
  EXPECT_THAT(text, AllOf(Not(HasSubstr("Held for 2 days")), HasSubstr("day 6, 00:00: Old.\n")));
}

TEST(RehearsalWords, read_faults_back_in_days_and_hours) {
  Outcome outcome = week();
  outcome.faults = {{Fault::Kind::ph_offset, 36h, 2h, 0.3}, {Fault::Kind::crash, kDay, 5s, 0}};
  EXPECT_THAT(words(outcome),
              AllOf(HasSubstr("day 2, 12:00, for 2 h: the pH probe shows this much more: 0.3 "
                              "(ph-offset)"),
                    HasSubstr("day 2, 00:00, for 5 s: the program dies")));
  EXPECT_EQ(json_of(outcome, station()).at("faults"),
            (nlohmann::json{"ph-offset@36h:2h=0.3", "crash@1d:5s=0"}));
}

TEST(RehearsalWords, milk_leaves_a_trace) {
  EXPECT_THAT(words(week()), Not(HasSubstr("Milk")));
  Outcome outcome = week();
  outcome.powder_carried_g = 3.26;
  EXPECT_THAT(words(outcome), HasSubstr("Milk: 3.3 g of powder left the reactor undissolved."));
  EXPECT_EQ(json_of(outcome, station()).at("powder_carried_g"), 3.26);
}

// 6.65 L of saturated limewater have dissolved 10 g (1.5 g/L at 25 °C, handbook).
TEST(RehearsalWords, call_it_milk_from_a_twentieth_of_what_is_dissolved_on) {
  Outcome outcome = week();
  outcome.powder_carried_g = 0.49;
  EXPECT_THAT(words(outcome), Not(HasSubstr("Milk")));
  EXPECT_EQ(advice(outcome), "  - Nothing.\n");
  outcome.powder_carried_g = 0.51;
  EXPECT_THAT(words(outcome), HasSubstr("Milk"));
  EXPECT_THAT(advice(outcome), HasSubstr("let it settle for longer"));
  outcome.delivered = Millilitres{0.0};
  outcome.powder_carried_g = 0.04;
  EXPECT_THAT(words(outcome), Not(HasSubstr("Milk")));
  outcome.powder_carried_g = 0.06;
  EXPECT_THAT(words(outcome), HasSubstr("Milk"));
}

TEST(RehearsalWords, of_a_single_course_exposures_are_told_too) {
  EXPECT_THAT(words(week()), Not(HasSubstr("Beyond what was commanded")));
  Outcome outcome = week();
  outcome.exposures[Fault::Kind::siphon].times = 1;
  outcome.exposures[Fault::Kind::siphon].millilitres = {59.0, 60.0};
  EXPECT_THAT(words(outcome), AllOf(HasSubstr("Beyond what was commanded"),
                                    HasSubstr("siphon: at most its own flow")));
  EXPECT_EQ(json_of(outcome, station()).at("exposures").at("siphon").at("judged"), 1);
}

TEST(RehearsalAdvice, of_a_week_that_was_well_is_nothing) {
  EXPECT_EQ(advice(week()), "  - Nothing.\n");
}

TEST(RehearsalAdvice, of_a_plan_that_is_too_much_is_to_give_less) {
  Outcome outcome = week();
  outcome.ph_high = 8.5;
  EXPECT_THAT(advice(outcome), HasSubstr("Give less a day"));
}

TEST(RehearsalAdvice, of_a_welded_relay_is_not_to_give_less) {
  Outcome outcome = week();
  outcome.ph_high = 8.9;
  outcome.alkalinity_end = Dkh{9.5};
  outcome.faults = {{Fault::Kind::pump_stuck_on, kDay, 1h, 0}};
  EXPECT_THAT(advice(outcome),
              AllOf(HasSubstr("pump-stuck-on"), HasSubstr("limit in hardware"),
                    Not(HasSubstr("Give less")), HasSubstr("says nothing of the plan")));
  outcome.faults = {{Fault::Kind::hand_dosed, kDay, {}, 2}};
  EXPECT_THAT(advice(outcome), AllOf(HasSubstr("by hand-dosed"), Not(HasSubstr("Give less"))));
}

// Found by an attack: spent powder was told to need more limewater.
TEST(RehearsalAdvice, of_limewater_that_was_weak_is_not_to_give_more) {
  for (const auto kind :
       {Fault::Kind::powder_spent, Fault::Kind::limewater_spoiled, Fault::Kind::pump_dead,
        Fault::Kind::pump_worn, Fault::Kind::pump_relay_dead}) {
    Outcome outcome = week();
    outcome.alkalinity_end = Dkh{6.9};
    outcome.faults = {{kind, kDay, kDay, 0}};
    EXPECT_THAT(advice(outcome),
                AllOf(HasSubstr(rehearsal::about(kind).name), HasSubstr("says nothing of the plan"),
                      Not(HasSubstr("Give more"))));
  }
}

TEST(RehearsalAdvice, of_alkalinity_that_moved_is_never_nothing) {
  Outcome outcome = week();
  outcome.alkalinity_end = Dkh{7.2};
  EXPECT_THAT(advice(outcome),
              AllOf(HasSubstr("fell by 0.8 dKH in 7.0 days"), HasSubstr("Give more")));
  outcome.alkalinity_end = Dkh{8.8};
  EXPECT_THAT(advice(outcome), AllOf(HasSubstr("rose by 0.8 dKH"), HasSubstr("Give less")));
  outcome.alkalinity_end = Dkh{8.4};
  EXPECT_EQ(advice(outcome), "  - Nothing.\n") << "no hand test tells that";
}

TEST(RehearsalAdvice, never_contradicts_itself) {
  Outcome outcome = week();
  outcome.ph_high = 8.5;
  outcome.alkalinity_end = Dkh{7.0};
  EXPECT_THAT(advice(outcome), AllOf(HasSubstr("Give less a day"), Not(HasSubstr("Give more")),
                                     HasSubstr("another method")));
  Outcome held = week();
  held.delivered = Millilitres{3000.0};
  held.alkalinity_end = Dkh{7.0};
  held.held = {{"settling", 60h}, {"stirrer-running", 20h}, {"ph-stuck", 12h}};
  EXPECT_THAT(advice(held),
              AllOf(HasSubstr("the longest hold was ph-stuck"), HasSubstr("because less was given"),
                    Not(HasSubstr("Give more"))));
}

}  // namespace
}  // namespace limegate::app
