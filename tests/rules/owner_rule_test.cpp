// What an owner's rule makes of its comparisons over time.

#include "rules/owner_rule.h"

#include <array>
#include <chrono>
#include <optional>
#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "rules/owner_sentence.h"

namespace limegate::rules {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using testing::HasSubstr;
using testing::Not;

const std::vector<Input> kInputs{{"pump", Input::Kind::digital, "", 10s, 1},
                                 {"level", Input::Kind::analogue, "cm", 60s, 12}};

OwnerRule pump_off() {
  OwnerRule rule;
  rule.name = "pump-off";
  rule.comparisons = {{0, Is{Is::State::off}}};
  return rule;
}

/// Follows a rule second by second.
struct Course {
  explicit Course(OwnerRule of) : rule(std::move(of)), memory(beginning_of(rule)) {}

  /// The next second, with these values (absent = nothing since the start).
  bool second(std::optional<double> pump, std::optional<double> level = 12.0) {
    evidence.now += 1s;
    evidence.known.clear();
    const std::array<std::optional<double>, 2> values{pump, level};
    for (const Comparison& comparison : rule.comparisons) {
      evidence.known.push_back({values.at(comparison.input), 0s});
    }
    memory = follow(rule, kInputs, evidence, memory);
    return stands(memory);
  }
  /// How many seconds it goes on to stand, or not to, with the same values.
  int seconds_until(bool standing, std::optional<double> pump, std::optional<double> level = 12.0) {
    int seconds = 0;
    while (second(pump, level) != standing && seconds < 100000) {
      ++seconds;
    }
    return seconds;
  }
  [[nodiscard]] std::string sentence() const {
    return sentence_of(rule, kInputs, evidence, memory);
  }

  OwnerRule rule;
  OwnerMemory memory;
  OwnerEvidence evidence{Instant{100h}, 12h, {}};
};

TEST(OwnerRule, holds_from_the_start_until_its_input_is_known) {
  Course course{pump_off()};
  EXPECT_TRUE(course.second(std::nullopt));
  EXPECT_THAT(course.sentence(), HasSubstr("nothing is known of pump"));
  EXPECT_FALSE(course.second(1.0));
  EXPECT_TRUE(course.second(0.0));
  EXPECT_THAT(course.sentence(), HasSubstr("The rule pump-off holds: pump is off."));
}

TEST(OwnerRule, holds_at_once_for_the_unknown_and_after_its_time_for_the_known) {
  OwnerRule rule = pump_off();
  rule.lasting = 10s;
  Course course{rule};
  ASSERT_FALSE(course.second(1.0));
  EXPECT_EQ(course.seconds_until(true, 0.0), 10);
  ASSERT_FALSE(course.second(1.0));
  EXPECT_TRUE(course.second(std::nullopt));
}

TEST(OwnerRule, what_is_interrupted_begins_its_time_anew_but_not_what_was_unknown_meanwhile) {
  OwnerRule rule = pump_off();
  rule.lasting = 10s;
  Course course{rule};
  ASSERT_FALSE(course.second(1.0));
  for (int i = 0; i < 9; ++i) {
    ASSERT_FALSE(course.second(0.0)) << i;
  }
  ASSERT_FALSE(course.second(1.0)) << "it ran for a moment";
  EXPECT_EQ(course.seconds_until(true, 0.0), 10);

  Course other{rule};
  ASSERT_FALSE(other.second(1.0));
  ASSERT_FALSE(other.second(0.0));
  for (int i = 0; i < 10; ++i) {
    ASSERT_TRUE(other.second(std::nullopt)) << i;
  }
  ASSERT_TRUE(other.second(0.0));
  EXPECT_EQ(other.memory.stands, OwnerMemory::Stands::met);
}

TEST(OwnerRule, releases_by_itself_only_after_it_was_over_for_its_time) {
  OwnerRule rule = pump_off();
  rule.release_after = 5min;
  Course course{rule};
  EXPECT_EQ(course.seconds_until(false, 1.0), 300) << "also after the start";
  ASSERT_TRUE(course.second(std::nullopt));
  EXPECT_EQ(course.memory.stands, OwnerMemory::Stands::unknown);
  ASSERT_TRUE(course.second(1.0));
  EXPECT_EQ(course.memory.stands, OwnerMemory::Stands::met)
      << "it is known now, and takes its time";
  EXPECT_EQ(course.seconds_until(false, 1.0), 299);
  ASSERT_TRUE(course.second(0.0));
  for (int i = 0; i < 200; ++i) {
    ASSERT_TRUE(course.second(1.0));
  }
  EXPECT_THAT(course.sentence(), HasSubstr("101 s"));
  ASSERT_TRUE(course.second(0.0)) << "it stopped again meanwhile";
  EXPECT_EQ(course.seconds_until(false, 1.0), 300);
}

TEST(OwnerRule, that_waits_for_a_person_latches_on_what_is_known_alone) {
  OwnerRule rule = pump_off();
  rule.release = Clears::by_person;
  Course course{rule};
  ASSERT_TRUE(course.second(std::nullopt));
  EXPECT_FALSE(course.memory.latched) << "no start may need a person";
  EXPECT_FALSE(course.second(1.0));
  EXPECT_TRUE(course.second(0.0));
  EXPECT_TRUE(course.memory.latched);
  EXPECT_TRUE(course.second(1.0));
  EXPECT_THAT(course.sentence(), HasSubstr("a person at the station must release"));
  EXPECT_TRUE(course.second(std::nullopt));
  EXPECT_TRUE(course.second(1.0));
}

TEST(OwnerRule, an_alert_calls_for_the_unknown_only_after_its_time_and_the_inputs_age) {
  OwnerRule rule = pump_off();
  rule.effect = OwnerRule::Effect::alert;
  Course course{rule};
  EXPECT_EQ(course.seconds_until(true, std::nullopt), 10) << "age_max of the input";
  EXPECT_EQ(course.memory.stands, OwnerMemory::Stands::unknown);
  EXPECT_FALSE(course.second(1.0));
  EXPECT_TRUE(course.second(0.0));
  EXPECT_EQ(course.memory.stands, OwnerMemory::Stands::met);

  rule.lasting = 30s;
  Course longer{rule};
  EXPECT_EQ(longer.seconds_until(true, std::nullopt), 30);
}

TEST(OwnerRule, an_alert_never_latches_a_person_sees_it_and_that_is_all) {
  OwnerRule rule = pump_off();
  rule.effect = OwnerRule::Effect::alert;
  rule.release = Clears::by_person;
  Course course{rule};
  EXPECT_TRUE(course.second(0.0));
  EXPECT_FALSE(course.memory.latched);
  EXPECT_FALSE(course.second(1.0));
}

TEST(OwnerRule, an_alert_for_the_unknown_ends_as_soon_as_something_is_known) {
  OwnerRule rule = pump_off();
  rule.effect = OwnerRule::Effect::alert;
  rule.release_after = 60s;
  Course course{rule};
  ASSERT_EQ(course.seconds_until(true, std::nullopt), 10);
  EXPECT_FALSE(course.second(1.0));
  ASSERT_TRUE(course.second(0.0));
  EXPECT_EQ(course.seconds_until(false, 1.0), 60);
}

TEST(OwnerRule, of_all_is_clear_as_soon_as_one_is) {
  OwnerRule rule = pump_off();
  rule.comparisons.push_back({1, Above{18.0}});
  Course course{rule};
  EXPECT_TRUE(course.second(std::nullopt, std::nullopt));
  EXPECT_FALSE(course.second(std::nullopt, 12.0)) << "unknown and false is false";
  EXPECT_TRUE(course.second(std::nullopt, 19.0));
  EXPECT_EQ(course.memory.finding, Finding::unknown);
  EXPECT_TRUE(course.second(0.0, 19.0));
  EXPECT_EQ(course.memory.finding, Finding::met);
  EXPECT_THAT(course.sentence(), HasSubstr("pump is off and level is 19 cm"));
}

TEST(OwnerRule, of_any_is_met_as_soon_as_one_is) {
  OwnerRule rule = pump_off();
  rule.join = OwnerRule::Join::any;
  rule.comparisons.push_back({1, Above{18.0}});
  Course course{rule};
  EXPECT_FALSE(course.second(1.0, 12.0));
  EXPECT_TRUE(course.second(std::nullopt, 12.0));
  EXPECT_EQ(course.memory.finding, Finding::unknown) << "unknown or false is unknown";
  EXPECT_TRUE(course.second(std::nullopt, 19.0));
  EXPECT_EQ(course.memory.finding, Finding::met) << "unknown or true is true";
  EXPECT_THAT(course.sentence(), HasSubstr("level is 19 cm (above 18 cm)"));
  EXPECT_THAT(course.sentence(), Not(HasSubstr("nothing is known")));
}

TEST(OwnerRule, outside_its_hours_nothing_is_met_and_nothing_needs_to_be_known) {
  OwnerRule rule = pump_off();
  rule.hours = HoursOfDay{22h, 6h};
  Course course{rule};
  EXPECT_FALSE(course.second(std::nullopt)) << "noon";
  EXPECT_FALSE(course.second(0.0));
  course.evidence.time_of_day = 22h - 1ns;
  EXPECT_FALSE(course.second(0.0));
  course.evidence.time_of_day = 22h;
  EXPECT_TRUE(course.second(0.0));
  EXPECT_TRUE(course.second(std::nullopt));
  course.evidence.time_of_day = 6h - 1ns;
  EXPECT_TRUE(course.second(0.0));
  course.evidence.time_of_day = 6h;
  EXPECT_FALSE(course.second(0.0));
}

TEST(OwnerRule, of_hours_holds_while_the_hour_is_not_known_and_says_so) {
  OwnerRule rule = pump_off();
  rule.hours = HoursOfDay{22h, 6h};
  Course course{rule};
  EXPECT_FALSE(course.second(0.0)) << "noon";
  course.evidence.time_of_day.reset();
  EXPECT_TRUE(course.second(0.0));
  EXPECT_EQ(course.memory.finding, Finding::unknown);
  EXPECT_THAT(course.sentence(), HasSubstr("clock was not set"));
  EXPECT_FALSE(course.second(1.0)) << "not met, whatever the hour";
  course.rule.comparisons.clear();
  course.memory = beginning_of(course.rule);
  EXPECT_TRUE(course.second(1.0));
  EXPECT_THAT(course.sentence(), HasSubstr("clock was not set"));
  EXPECT_FALSE(course.memory.latched);
}

TEST(OwnerRule, of_hours_calls_when_the_hour_is_not_known) {
  OwnerRule rule = pump_off();
  rule.hours = HoursOfDay{22h, 6h};
  rule.effect = OwnerRule::Effect::alert;
  Course course{rule};
  EXPECT_FALSE(course.second(0.0));
  course.evidence.time_of_day.reset();
  EXPECT_EQ(course.seconds_until(true, 0.0), in_seconds(unknown_for(rule, kInputs)));
}

TEST(OwnerRule, of_hours_alone_holds_within_them) {
  OwnerRule rule;
  rule.name = "night";
  rule.hours = HoursOfDay{22h, 6h};
  rule.release_after = 60s;
  Course course{rule};
  EXPECT_FALSE(course.second(1.0)) << "the hour is known at once";
  course.evidence.time_of_day = 23h;
  EXPECT_TRUE(course.second(1.0));
  EXPECT_THAT(course.sentence(), HasSubstr("it is in the hours from 22:00 to 06:00"));
  course.evidence.time_of_day = 6h;
  EXPECT_EQ(course.seconds_until(false, 1.0), 60);
}

TEST(OwnerRule, a_value_in_the_slack_after_a_start_or_a_silence_goes_on_to_hold) {
  OwnerRule rule;
  rule.name = "sump-high";
  rule.comparisons = {{1, Above{18.0}, 1.0}};
  Course course{rule};
  EXPECT_TRUE(course.second(1.0, 17.5));
  EXPECT_THAT(course.sentence(), HasSubstr("level is 17.5 cm"));
  EXPECT_FALSE(course.second(1.0, 17.0));
  EXPECT_FALSE(course.second(1.0, 17.5));
  EXPECT_TRUE(course.second(1.0, std::nullopt));
  EXPECT_TRUE(course.second(1.0, 17.5)) << "it may have been above meanwhile";
  EXPECT_FALSE(course.second(1.0, 16.0));
  EXPECT_TRUE(course.second(1.0, 18.5));
  EXPECT_TRUE(course.second(1.0, std::nullopt));
  EXPECT_TRUE(course.second(1.0, 17.5));
  EXPECT_EQ(course.memory.finding, Finding::met) << "it was above, and has not been clear since";
}

TEST(OwnerRule, puts_the_owners_own_sentence_first) {
  OwnerRule rule = pump_off();
  rule.says = "The return pump stands still.";
  Course course{rule};
  course.second(0.0);
  EXPECT_EQ(course.sentence(),
            "The return pump stands still. The rule pump-off holds: pump is off.");
  course.second(std::nullopt);
  EXPECT_EQ(course.sentence(), "The rule pump-off holds: nothing is known of pump.");
}

struct Said {
  const char* name;
  OwnerRule rule;
  const char* sentence;
};
void PrintTo(const Said& row, std::ostream* out) { *out << row.name; }

OwnerRule level(Test test, double slack = 0) {
  OwnerRule rule;
  rule.comparisons = {{1, test, slack}};
  return rule;
}
template <class Change>
OwnerRule changed(OwnerRule rule, Change change) {
  change(rule);
  return rule;
}

class OwnerSentenceTable : public testing::TestWithParam<Said> {};

TEST_P(OwnerSentenceTable, reads_a_rule_back) {
  EXPECT_EQ(sentence_of(GetParam().rule, kInputs), GetParam().sentence);
}

const Said kSaid[] = {
    {"is", pump_off(),
     "Hold dosing when pump is off, or at once when nothing is known of it; dosing may go on as "
     "soon as that is over."},
    {"lasting_and_delayed",
     changed(pump_off(),
             [](OwnerRule& rule) {
               rule.lasting = 10s;
               rule.release_after = 5min;
             }),
     "Hold dosing when pump is off for 10 s, or at once when nothing is known of it; dosing may go "
     "on once that has been over for 5 min."},
    {"by_person",
     changed(level(Above{18.0}, 1.0), [](OwnerRule& rule) { rule.release = Clears::by_person; }),
     "Hold dosing when level is above 18 cm (until it is 17 cm or less), or at once when nothing "
     "is known of it; once it was met, until a person at the station releases it."},
    {"below", level(Below{5.5}, 0.5),
     "Hold dosing when level is below 5.5 cm (until it is 6 cm or more), or at once when nothing "
     "is known of it; dosing may go on as soon as that is over."},
    {"outside", level(Outside{5, 20}, 1),
     "Hold dosing when level is outside 5 to 20 cm (until it is within 6 to 19 cm), or at once "
     "when nothing is known of it; dosing may go on as soon as that is over."},
    {"climbing", level(ClimbsBy{2, 30min}, 0.5),
     "Hold dosing when level climbs by 2 cm or more within 30 min (until that is less than "
     "1.5 cm), or at once when nothing is known of it; dosing may go on as soon as that is over."},
    {"silent",
     changed(level(Silent{}), [](OwnerRule& rule) { rule.effect = OwnerRule::Effect::alert; }),
     "Call a person when nothing is known of level for longer than 60 s; the alert ends as soon as "
     "that is over."},
    {"any_alert_by_person",
     changed(pump_off(),
             [](OwnerRule& rule) {
               rule.join = OwnerRule::Join::any;
               rule.comparisons.push_back({1, Above{18.0}});
               rule.effect = OwnerRule::Effect::alert;
               rule.release = Clears::by_person;
               rule.lasting = 5min;
             }),
     "Call a person when pump is off or level is above 18 cm for 5 min, or when nothing is known "
     "of them for 5 min; the alert stays until a person has seen it."},
    {"all_in_hours",
     changed(pump_off(),
             [](OwnerRule& rule) {
               rule.comparisons.push_back({1, Below{5.0}});
               rule.hours = HoursOfDay{22h, 6h};
             }),
     "From 22:00 to 06:00 hold dosing when pump is off and level is below 5 cm, or at once "
     "when nothing is known of them; dosing may go on as soon as that is over."},
    {"hours_alone",
     changed(pump_off(),
             [](OwnerRule& rule) {
               rule.comparisons.clear();
               rule.hours = HoursOfDay{22h, 6h};
             }),
     "From 22:00 to 06:00 hold dosing; dosing may go on as soon as that is over."},
};
INSTANTIATE_TEST_SUITE_P(, OwnerSentenceTable, testing::ValuesIn(kSaid),
                         [](const auto& row) { return std::string{row.param.name}; });

}  // namespace
}  // namespace limegate::rules
