// Two pH probes: both must be good, they must agree, and the higher one counts.

#include <gtest/gtest.h>

#include "rules/row.h"

namespace limegate::rules {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using signal::Quality;
using signal::Reason;

constexpr Duration kTick{1};

/// Both good; the first shows 8.2.
void both(Scene& s, double second) {
  s.known.second_ph = s.known.ph;
  s.known.second_ph->value = s.known.second_ph->newest = second;
}
void apart(Scene& s, double difference) { both(s, 8.2 - difference); }
void for_so_long(Scene& s, double difference, Duration lasting) {
  apart(s, difference);
  s.memory.disagree_since = s.now - lasting;
}

class SecondPhTable : public testing::TestWithParam<Row> {};

TEST_P(SecondPhTable, holds_for_exactly_these_reasons) {
  Scene scene;
  GetParam().spoil(scene);
  EXPECT_EQ(scene.codes(), GetParam().codes);
}

// Limit 0.10 for 30 min, 0.15 at once, over below 0.0667. Ceiling 8.45.
const Row kRows[] = {
    {"agree", [](Scene& s) { both(s, 8.2); }, {}},
    {"the_second_reaches_the_ceiling",
     [](Scene& s) {
       both(s, 8.45);
       s.known.ph.value = s.known.ph.newest = 8.40;
     },
     {"ph-ceiling"}},
    {"the_first_reaches_the_ceiling",
     [](Scene& s) {
       both(s, 8.40);
       s.known.ph.value = s.known.ph.newest = 8.45;
     },
     {"ph-ceiling"}},
    {"a_raw_value_of_the_second_reaches_the_ceiling",
     [](Scene& s) {
       both(s, 8.2);
       s.known.second_ph->newest = 8.45;
     },
     {"ph-ceiling"}},
    {"the_lower_one_does_not_clear_the_ceiling",
     [](Scene& s) {
       both(s, 8.41);
       s.known.ph.value = s.known.ph.newest = 8.36;
       s.memory.ceiling_tripped = true;
     },
     {"ph-ceiling"}},
    {"below_the_limit_for_long", [](Scene& s) { for_so_long(s, 0.099, 5h); }, {}},
    {"at_the_limit_just_now", [](Scene& s) { apart(s, 0.101); }, {}},
    {"at_the_limit_one_tick_short", [](Scene& s) { for_so_long(s, 0.101, 30min - kTick); }, {}},
    {"at_the_limit_for_so_long",
     [](Scene& s) { for_so_long(s, 0.101, 30min); },
     {"ph-probes-disagree"}},
    {"since_the_future", [](Scene& s) { for_so_long(s, 0.101, -1h); }, {}},
    {"half_as_much_again_at_once", [](Scene& s) { apart(s, 0.151); }, {"ph-probes-disagree"}},
    {"nearly_half_as_much_again", [](Scene& s) { apart(s, 0.149); }, {}},
    {"tripped_and_above_two_thirds",
     [](Scene& s) {
       apart(s, 0.067);
       s.memory.disagreement_tripped = true;
     },
     {"ph-probes-disagree"}},
    {"tripped_and_below_two_thirds",
     [](Scene& s) {
       apart(s, 0.066);
       s.memory.disagreement_tripped = true;
     },
     {}},
    {"tripped_and_agreeing_while_disturbed",
     [](Scene& s) {
       both(s, 8.2);
       s.memory.disagreement_tripped = true;
       s.known.disturbed_until = s.now + 1s;
     },
     {"ph-disturbed", "ph-probes-disagree"}},
    {"the_limit_is_not_a_number",
     [](Scene& s) {
       both(s, 8.2);
       s.limits.ph_disagreement = PhChange{kNan};
     },
     {"ph-probes-disagree"}},
    {"the_second_was_never_heard_of",
     [](Scene& s) { s.known.second_ph = signal::Reading{}; },
     {"second-ph-missing"}},
    {"the_second_is_not_a_number",
     [](Scene& s) { both(s, kNan); },
     {"ph-probes-disagree", "second-ph-not-a-number"}},
    {"the_second_is_of_the_future",
     [](Scene& s) {
       both(s, 8.2);
       s.known.second_ph->age = -1s;
     },
     {"second-ph-stale"}},
    {"the_second_is_too_old",
     [](Scene& s) {
       both(s, 8.2);
       s.known.second_ph->age = 10s + kTick;
     },
     {"second-ph-stale"}},
    {"the_first_is_bad_and_the_second_is_too_high",
     [](Scene& s) {
       both(s, 8.5);
       s.known.ph.quality = Quality::bad;
       s.known.ph.reason = Reason::stale;
     },
     {"ph-ceiling", "ph-stale"}},
    {"a_disagreement_with_a_probe_that_is_gone",
     [](Scene& s) { s.memory.disagreement_tripped = true; },
     {}},
};
INSTANTIATE_TEST_SUITE_P(, SecondPhTable, testing::ValuesIn(kRows),
                         [](const auto& row) { return std::string{row.param.name}; });

TEST(HigherOf, is_the_higher_and_no_better_than_the_worse) {
  Scene scene;
  signal::Reading low = scene.known.ph;
  signal::Reading high = scene.known.ph;
  high.value = 8.3;
  low.newest = 8.4;
  low.age = 5s;
  for (const signal::Reading& both : {signal::higher_of(low, high), signal::higher_of(high, low)}) {
    EXPECT_EQ(both.value, 8.3);
    EXPECT_EQ(both.newest, 8.4);
    EXPECT_EQ(both.age, 5s);
    EXPECT_EQ(both.quality, Quality::good);
  }
  low.quality = Quality::uncertain;
  low.reason = Reason::unsteady;
  EXPECT_EQ(signal::higher_of(low, high).quality, Quality::uncertain);
  EXPECT_EQ(signal::higher_of(high, low).reason, Reason::unsteady);
  high.quality = Quality::bad;
  EXPECT_EQ(signal::higher_of(low, high).value, low.value);
  EXPECT_EQ(signal::higher_of(high, low).value, low.value);
  low.quality = Quality::bad;
  EXPECT_EQ(signal::higher_of(high, low).quality, Quality::bad);
}

}  // namespace
}  // namespace limegate::rules
