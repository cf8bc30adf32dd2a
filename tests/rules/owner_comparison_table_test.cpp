// Every comparison of an owner's rule: below, at and above its threshold and its slack, absent, not
// a number, infinite, too old, from the future.

#include <limits>
#include <ostream>
#include <string>

#include <gtest/gtest.h>

#include "rules/owner_rule.h"

namespace limegate::rules {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

constexpr double kNan = std::numeric_limits<double>::quiet_NaN();
constexpr double kInf = std::numeric_limits<double>::infinity();
constexpr Duration kTick{1};

constexpr Finding kUnknown = Finding::unknown;
constexpr Finding kMet = Finding::met;
constexpr Finding kClear = Finding::clear;

struct Row {
  const char* name;
  Test test;
  InputKnown known;
  Finding before;
  Finding found;
  double slack = 0;
};
void PrintTo(const Row& row, std::ostream* out) { *out << row.name; }

const Test kOn{Is{Is::State::on}};
const Test kOff{Is{Is::State::off}};
const Test kAbove{Above{18.0}};
const Test kBelow{Below{5.0}};
const Test kOutside{Outside{24.0, 27.0}};
const Test kClimbs{ClimbsBy{2.0, 30min}};
const Test kSilent{Silent{}};

InputKnown at(double value, Duration age = 1s) { return {value, age}; }
InputKnown rising(double rise, double value = 10.0) { return {value, 1s, rise}; }

class OwnerComparisonTable : public testing::TestWithParam<Row> {};

TEST_P(OwnerComparisonTable, finds) {
  const Row& row = GetParam();
  const Input input{"input", Input::Kind::analogue, "", 10s};
  EXPECT_EQ(find({0, row.test, row.slack}, input, row.known, row.before), row.found);
}

const Row kDigital[] = {
    {"on_is_on", kOn, at(1), kUnknown, kMet},
    {"off_is_not_on", kOn, at(0), kMet, kClear},
    {"off_is_off", kOff, at(0), kUnknown, kMet},
    {"on_is_not_off", kOff, at(1), kMet, kClear},
    {"half_is_neither", kOn, at(0.5), kClear, kUnknown},
    {"two_is_neither", kOff, at(2), kClear, kUnknown},
    {"digital_at_its_age", kOn, at(0, 10s), kClear, kClear},
    {"digital_past_its_age", kOn, at(0, 10s + kTick), kClear, kUnknown},
    {"digital_from_the_future", kOn, at(0, -kTick), kClear, kUnknown},
    {"digital_of_just_now", kOn, at(0, 0s), kClear, kClear},
    {"digital_absent", kOn, {}, kClear, kUnknown},
    {"digital_not_a_number", kOff, at(kNan), kClear, kUnknown},
    {"digital_infinite", kOff, at(kInf), kClear, kUnknown},
};
INSTANTIATE_TEST_SUITE_P(Digital, OwnerComparisonTable, testing::ValuesIn(kDigital),
                         [](const auto& row) { return std::string{row.param.name}; });

const Row kLevels[] = {
    {"below_its_limit", kAbove, at(17.9), kMet, kClear},
    {"at_its_limit_is_not_above", kAbove, at(18.0), kMet, kClear},
    {"above_its_limit", kAbove, at(18.0001), kClear, kMet},
    {"above_absent", kAbove, {}, kClear, kUnknown},
    {"above_not_a_number", kAbove, at(kNan), kClear, kUnknown},
    {"above_infinite", kAbove, at(kInf), kClear, kUnknown},
    {"above_minus_infinite", kAbove, at(-kInf), kClear, kUnknown},
    {"above_too_old", kAbove, at(1.0, 10s + kTick), kClear, kUnknown},
    {"above_from_the_future", kAbove, at(1.0, -kTick), kClear, kUnknown},
    {"above_within_the_slack_stays_met", kAbove, at(17.5), kMet, kMet, 1.0},
    {"above_within_the_slack_stays_clear", kAbove, at(17.5), kClear, kClear, 1.0},
    {"above_within_the_slack_of_the_unknown", kAbove, at(17.5), kUnknown, kUnknown, 1.0},
    {"above_at_the_end_of_the_slack", kAbove, at(17.0), kMet, kClear, 1.0},
    {"above_the_end_of_the_slack", kAbove, at(17.0001), kMet, kMet, 1.0},

    {"above_the_low_limit", kBelow, at(5.1), kMet, kClear},
    {"at_the_low_limit_is_not_below", kBelow, at(5.0), kMet, kClear},
    {"below_the_low_limit", kBelow, at(4.9999), kClear, kMet},
    {"below_absent", kBelow, {}, kClear, kUnknown},
    {"below_not_a_number", kBelow, at(kNan), kClear, kUnknown},
    {"below_from_the_future", kBelow, at(10.0, -kTick), kClear, kUnknown},
    {"below_within_the_slack_stays_met", kBelow, at(5.5), kMet, kMet, 1.0},
    {"below_within_the_slack_stays_clear", kBelow, at(5.5), kClear, kClear, 1.0},
    {"below_at_the_end_of_the_slack", kBelow, at(6.0), kMet, kClear, 1.0},

    {"under_the_range", kOutside, at(23.9999), kClear, kMet},
    {"at_the_low_end_of_the_range", kOutside, at(24.0), kMet, kClear},
    {"within_the_range", kOutside, at(25.5), kMet, kClear},
    {"at_the_high_end_of_the_range", kOutside, at(27.0), kMet, kClear},
    {"over_the_range", kOutside, at(27.0001), kClear, kMet},
    {"range_absent", kOutside, {}, kClear, kUnknown},
    {"range_not_a_number", kOutside, at(kNan), kClear, kUnknown},
    {"range_from_the_future", kOutside, at(25.5, -kTick), kClear, kUnknown},
    {"range_within_the_low_slack_stays_met", kOutside, at(24.4), kMet, kMet, 0.5},
    {"range_within_the_high_slack_stays_met", kOutside, at(26.6), kMet, kMet, 0.5},
    {"range_within_the_slack_stays_clear", kOutside, at(26.6), kClear, kClear, 0.5},
    {"range_at_the_end_of_the_slack", kOutside, at(24.5), kMet, kClear, 0.5},
};
INSTANTIATE_TEST_SUITE_P(Levels, OwnerComparisonTable, testing::ValuesIn(kLevels),
                         [](const auto& row) { return std::string{row.param.name}; });

const Row kOverTime[] = {
    {"climbs_less", kClimbs, rising(1.9999), kMet, kClear},
    {"climbs_by_just_so_much", kClimbs, rising(2.0), kClear, kMet},
    {"climbs_more", kClimbs, rising(2.1), kClear, kMet},
    {"climb_absent", kClimbs, {}, kClear, kUnknown},
    {"climb_not_a_number", kClimbs, rising(kNan), kClear, kUnknown},
    {"climb_of_what_is_not_a_number", kClimbs, rising(0.0, kNan), kClear, kUnknown},
    {"climb_of_the_future", kClimbs, at(10.0, -kTick), kClear, kUnknown},
    {"climb_within_the_slack_stays_met", kClimbs, rising(1.5), kMet, kMet, 0.5},
    {"climb_within_the_slack_stays_clear", kClimbs, rising(1.5), kClear, kClear, 0.5},
    {"climb_below_the_slack", kClimbs, rising(1.4999), kMet, kClear, 0.5},

    {"silent_while_fresh", kSilent, at(1.0), kMet, kClear},
    {"silent_at_its_age", kSilent, at(1.0, 10s), kMet, kClear},
    {"silent_past_its_age", kSilent, at(1.0, 10s + kTick), kClear, kMet},
    {"silent_from_the_future", kSilent, at(1.0, -kTick), kClear, kMet},
    {"silent_with_nonsense_of_just_now", kSilent, at(kNan), kMet, kClear},
    {"silent_with_nonsense_for_long", kSilent, at(kNan, 10s + kTick), kClear, kMet},
    {"silent_since_a_start_of_just_now", kSilent, {std::nullopt, 10s}, kUnknown, kUnknown},
    {"silent_ever_since_the_start", kSilent, {std::nullopt, 10s + kTick}, kUnknown, kMet},
};
INSTANTIATE_TEST_SUITE_P(OverTime, OwnerComparisonTable, testing::ValuesIn(kOverTime),
                         [](const auto& row) { return std::string{row.param.name}; });

}  // namespace
}  // namespace limegate::rules
