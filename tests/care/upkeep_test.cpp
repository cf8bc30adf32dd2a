// What is due at a station, worked by hand. The station is a scenario of our own.

#include "care/upkeep.h"

#include <chrono>
#include <string>

#include <gtest/gtest.h>

namespace limegate::care {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using State = UpkeepItem::State;

constexpr Duration kDay = 24h;

/// Of a pump of 40 mL/min, on its first day.
UpkeepKnown first_day() { return {{}, 0h, Millilitres{0.0}, MillilitresPerMinute{40.0}, {}, {}}; }
Done& done(UpkeepKnown& known, Chore chore, Duration ago) {
  return known.newest.at(static_cast<std::size_t>(chore)).emplace(Done{ago, {}});
}
UpkeepItem item(const UpkeepKnown& known, Chore chore) {
  return upkeep_of(known).at(static_cast<std::size_t>(chore));
}

TEST(Upkeep, names_every_chore_in_its_order) {
  const auto items = upkeep_of(first_day());
  ASSERT_EQ(items.size(), kChores);
  for (std::size_t i = 0; i < items.size(); ++i) {
    EXPECT_EQ(items[i].chore, static_cast<Chore>(i));
    EXPECT_FALSE(items[i].sentence.empty());
    EXPECT_NE(std::string{name_of(items[i].chore)}, "");
  }
}

struct AgeRow {
  Chore chore;
  Duration every;
  bool on_any_station;
};
class Ages : public testing::TestWithParam<AgeRow> {};

// Refill 14 days, clean 30, calibrate 30, opened buffers of pH 10 60, kits 180 and electrodes 365
// (common practice: CARE.md, section 7), a rate each quarter (section 7).
INSTANTIATE_TEST_SUITE_P(Upkeep, Ages,
                         testing::Values(AgeRow{Chore::refill, 14 * kDay, true},
                                         AgeRow{Chore::clean, 30 * kDay, true},
                                         AgeRow{Chore::calibrate, 30 * kDay, true},
                                         AgeRow{Chore::rate, 90 * kDay, false},
                                         AgeRow{Chore::buffers, 60 * kDay, false},
                                         AgeRow{Chore::kit, 180 * kDay, false},
                                         AgeRow{Chore::electrode, 365 * kDay, false}),
                         [](const auto& row) { return std::string{name_of(row.param.chore)}; });

TEST_P(Ages, is_due_at_its_age_and_not_a_second_before) {
  const AgeRow& row = GetParam();
  UpkeepKnown known = first_day();
  done(known, row.chore, row.every - 1s);
  EXPECT_EQ(item(known, row.chore).state, State::fine);
  EXPECT_EQ(item(known, row.chore).due_in, 1s);
  done(known, row.chore, row.every);
  EXPECT_EQ(item(known, row.chore).state, State::due);
  EXPECT_FALSE(item(known, row.chore).due_in);
  EXPECT_NE(item(known, row.chore).sentence.find("limegate record"), std::string::npos);
}

// What is not in the book was not done: unknown is never zero.
TEST_P(Ages, without_an_entry_counts_from_the_first_day_where_any_station_needs_it) {
  const AgeRow& row = GetParam();
  UpkeepKnown known = first_day();
  known.known_for = row.every - 1s;
  EXPECT_EQ(item(known, row.chore).state, State::not_known);
  known.known_for = row.every;
  EXPECT_EQ(item(known, row.chore).state, row.on_any_station ? State::due : State::not_known);
}

TEST(Upkeep, of_powder_that_is_known_goes_by_what_is_left) {
  UpkeepKnown known = first_day();
  done(known, Chore::refill, 40 * kDay);
  known.powder = Powder{{10.0, 60.0}, Interval{3.1, 22.0}, {60.0, 90.0}};
  EXPECT_EQ(item(known, Chore::refill).state, State::fine);
  known.powder->days = Interval{3.0, 22.0};
  EXPECT_EQ(item(known, Chore::refill).state, State::due);
  EXPECT_NE(item(known, Chore::refill).sentence.find("60 to 90 g fill the vessel"),
            std::string::npos);
  known.powder->days.reset();  // nothing is given
  EXPECT_EQ(item(known, Chore::refill).state, State::fine);
  known.powder->left_g.low = 0.0;
  EXPECT_EQ(item(known, Chore::refill).state, State::due);
}

TEST(Upkeep, a_reactor_that_was_emptied_wants_powder) {
  UpkeepKnown known = first_day();
  done(known, Chore::refill, kDay);
  done(known, Chore::clean, kDay / 2);
  EXPECT_EQ(item(known, Chore::refill).state, State::due);
  EXPECT_NE(item(known, Chore::refill).sentence.find("no powder was put in since"),
            std::string::npos);
  done(known, Chore::clean, 2 * kDay);
  EXPECT_EQ(item(known, Chore::refill).state, State::fine);
}

// 0.1 off a hand test (CARE.md, section 7).
TEST(Upkeep, of_a_probe_goes_by_a_test_by_hand_too) {
  UpkeepKnown known = first_day();
  done(known, Chore::calibrate, kDay);
  known.drift = PhChange{0.1};
  EXPECT_EQ(item(known, Chore::calibrate).state, State::fine);
  for (const double drift : {0.101, -0.101}) {
    known.drift = PhChange{drift};
    EXPECT_EQ(item(known, Chore::calibrate).state, State::due) << drift;
  }
}

// 40 mL/min for 500 h are 1200 L (500 h: CARE.md, section 7).
TEST(Upkeep, of_a_tube_goes_by_the_hours_that_the_pump_ran) {
  UpkeepKnown known = first_day();
  known.given_in_all = Millilitres{1'199'999.0};
  EXPECT_EQ(item(known, Chore::tube).state, State::fine);
  known.given_in_all = Millilitres{1'200'000.0};
  EXPECT_EQ(item(known, Chore::tube).state, State::due);
  done(known, Chore::tube, kDay).given_since = Millilitres{2400.0};
  EXPECT_EQ(item(known, Chore::tube).state, State::fine);
  EXPECT_NE(item(known, Chore::tube).sentence.find("ran for 1 h"), std::string::npos);
  done(known, Chore::tube, kDay);
  EXPECT_EQ(item(known, Chore::tube).state, State::not_known);
}

}  // namespace
}  // namespace limegate::care
