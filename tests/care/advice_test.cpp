#include "care/advice.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <string>
#include <vector>

#include <gtest/gtest.h>

#include "chemistry/dose.h"
#include "chemistry/limewater.h"
#include "support/program.h"

namespace limegate::care {
namespace {

using test::contains;

const WallTime kStart{std::chrono::sys_days{std::chrono::year{2026} / 9 / 1}};

WallTime day(double days) { return kStart + seconds_of(days * 86400.0); }

/// CARE.md, section 10: 320 L, of which 3.2 L evaporate each day, the reactor at 22 °C.
Site worked_site() {
  const auto limewater = chemistry::saturated_limewater(Celsius{22});
  EXPECT_TRUE(limewater);
  const auto each = chemistry::daily_addition(Litres{320}, *limewater, Millilitres{1}, Litres{3.2});
  EXPECT_TRUE(each);
  return {Litres{320}, Millilitres{3200}, Millilitres{3200}, each->alkalinity};
}

struct Reads {
  double day;
  double reads;
};

/// So much limewater on each day, and tests.
ReadBook book_of(double days, const std::vector<double>& volumes, const std::vector<Reads>& tests) {
  ReadBook read;
  for (int i = 0; i < days; ++i) {
    const std::size_t index = std::min(static_cast<std::size_t>(i), volumes.size() - 1);
    read.book.entries.push_back({day(i), LimewaterGiven{Millilitres{volumes[index]}}});
  }
  for (const Reads& test : tests) {
    read.book.entries.push_back({day(test.day), AlkalinityTest{Dkh{test.reads}}});
  }
  std::stable_sort(read.book.entries.begin(), read.book.entries.end(),
                   [](const Entry& a, const Entry& b) { return a.at < b.at; });
  return read;
}

/// Tests each week without noise, of a tank that takes up `demand` and is given `volume`.
ReadBook weekly(int tests, double volume, double demand, double first = 8.3) {
  std::vector<Reads> all;
  all.reserve(static_cast<std::size_t>(tests));
  const double a_day = volume * worked_site().per_millilitre.count() - demand;
  for (int i = 0; i < tests; ++i) {
    all.push_back({7.0 * i, first + 7.0 * i * a_day});
  }
  return book_of(7.0 * (tests - 1), {volume}, all);
}

Asked at(double days) { return {day(days), day(days + 7)}; }

bool asks(const Advice& advice, const std::string& what) {
  for (const std::string& ask : advice.asks) {
    if (contains(ask, what)) {
      return true;
    }
  }
  return false;
}

void expect_finite(const Advice& advice) {
  for (const auto& one : {advice.demand_dkh_per_day, advice.hold_ml_per_day, advice.alkalinity_dkh,
                          advice.next_alkalinity_dkh}) {
    if (one) {
      EXPECT_TRUE(std::isfinite(one->median));
      EXPECT_LE(one->ninety.low, one->median);
      EXPECT_LE(one->median, one->ninety.high);
      EXPECT_TRUE(std::isfinite(one->ninety.low) && std::isfinite(one->ninety.high));
    }
  }
  if (advice.next) {
    EXPECT_GE(advice.next->count(), 0.0);
    EXPECT_TRUE(std::isfinite(advice.next->count()));
  }
  EXPECT_TRUE(advice.best_next_test.has_value());
}

// CARE.md, section 10: 1 L gives 0.3618 dKH. Start: half of 3.2 L would bring 0.579 dKH a day, more
// than 0.5, so 1.38 L until the demand is known.
TEST(Advice, begins_with_half_of_the_evaporation_or_half_a_degree) {
  EXPECT_NEAR(worked_site().per_millilitre.count() * 1000, 0.3618, 0.0001);
  const Advice advice = advise(book_of(3, {0}, {{0, 8.3}}), worked_site(), at(3));
  EXPECT_TRUE(asks(advice, "begin with 1382 mL a day"));
  EXPECT_EQ(advice.next->count(), 0);
  EXPECT_FALSE(advice.enough_tests);
}

// CARE.md, section 10.2: 8.4, after 8 days 7.9, 1.9 L a day: D = 0.750, holds 2.07 ± 0.16 L. Two
// tests are not enough; the volume stays.
TEST(Advice, finds_the_volume_that_holds_from_two_tests) {
  const Advice advice = advise(book_of(8, {1900}, {{0, 8.4}, {8, 7.9}}), worked_site(), at(8));
  ASSERT_TRUE(advice.demand_dkh_per_day && advice.hold_ml_per_day);
  EXPECT_NEAR(advice.demand_dkh_per_day->median, 0.750, 0.01);
  EXPECT_NEAR(advice.hold_ml_per_day->median, 2070, 20);
  // At least as wide as for a kit of 0.2 dKH that is known to be one.
  EXPECT_LE(advice.hold_ml_per_day->ninety.low, 2070 - 0.8 * 160);
  EXPECT_GE(advice.hold_ml_per_day->ninety.high, 2070 + 0.8 * 160);
  EXPECT_FALSE(advice.enough_tests);
  EXPECT_TRUE(asks(advice, "Not enough tests yet"));
  EXPECT_EQ(advice.next->count(), 1900);
  expect_finite(advice);
}

// CARE.md, section 10.2: to 8.3 in 10 days it is 2.18 L, from 7.9 with a demand of 0.75; upwards by
// the lower end of the demand, so a little less.
TEST(Advice, reaches_a_target) {
  const double hold = 0.75 / worked_site().per_millilitre.count();
  const ReadBook read = weekly(8, hold, 0.75, 7.9);
  Asked asked = at(49);
  asked.target = Dkh{8.3};
  asked.within = std::chrono::hours{240};
  const Advice up = advise(read, worked_site(), asked);
  EXPECT_TRUE(up.enough_tests);
  EXPECT_NEAR(up.next->count(), up.hold_ml_per_day->ninety.low + (2184 - hold), 20);
  EXPECT_GT(up.next->count(), hold);
  asked.target = Dkh{7.5};
  EXPECT_NEAR(advise(read, worked_site(), asked).next->count(), hold - (2184 - hold), 20);
  // A target that is too far for its day is come to by half a degree a day at the most, and by a
  // quarter of the volume.
  asked.target = Dkh{11};
  EXPECT_NEAR(advise(read, worked_site(), asked).next->count(), 1.25 * hold, 1);
}

// CARE.md, section 10.3: D 1.70; the cap 1.158; the rest 0.542 (32 %) = 3.88 mg/L of calcium.
TEST(Advice, says_what_another_method_must_bring) {
  const Advice advice = advise(weekly(8, 3200, 1.70, 20), worked_site(), at(49));
  ASSERT_TRUE(advice.other && advice.demand_dkh_per_day);
  EXPECT_NEAR(advice.demand_dkh_per_day->median, 1.70, 0.01);
  EXPECT_NEAR(advice.most.count(), 1.158, 0.001);
  EXPECT_NEAR(advice.other->alkalinity.count(), 0.542, 0.01);
  EXPECT_NEAR(advice.other->share.count(), 32, 0.5);
  EXPECT_NEAR(advice.other->calcium.count(), 3.88, 0.08);
  EXPECT_TRUE(asks(advice, "another method must bring"));
  EXPECT_LE(advice.next->count(), 3200);
  // Limewater that can do it all leaves nothing.
  const Advice all = advise(weekly(8, 1900, 0.70), worked_site(), at(49));
  EXPECT_EQ(all.other->alkalinity.count(), 0.0);
  EXPECT_TRUE(all.asks.empty()) << all.asks.front();
}

TEST(Advice, takes_no_step_of_more_than_a_quarter_a_week) {
  const double k = worked_site().per_millilitre.count();
  // Far too little, and far too much.
  const Advice low = advise(weekly(8, 1000, 0.75, 20), worked_site(), at(49));
  EXPECT_NEAR(low.next->count(), 1250, 1);
  const Advice high = advise(weekly(8, 2000, 0.2, 6), worked_site(), at(49));
  EXPECT_NEAR(high.next->count(), 1500, 1);
  // Raised three days ago by a fifth already: by a quarter of what was given a week ago.
  std::vector<double> volumes(46, 1000.0);
  volumes.insert(volumes.end(), 3, 1200.0);
  std::vector<Reads> tests;
  tests.reserve(8);
  for (int i = 0; i < 8; ++i) {
    const double given = 1000.0 * 7 * i + 200.0 * std::max(0, 7 * i - 46);
    tests.push_back({7.0 * i, 20 + given * k - 0.75 * 7 * i});
  }
  const Advice raised = advise(book_of(49, volumes, tests), worked_site(), at(49));
  EXPECT_NEAR(raised.next->count(), 1250, 1);
  // After a fortnight of nothing, three days at 500 mL and raised since: by a quarter of the 500.
  std::vector<double> begun(28, 1500.0);
  begun.insert(begun.end(), 14, 0.0);
  begun.insert(begun.end(), 3, 500.0);
  begun.push_back(625.0);
  std::vector<Reads> falling;
  falling.reserve(7);
  for (int i = 0; i < 7; ++i) {
    const double days = 7.0 * i;
    const double given = 1500.0 * std::min(days, 28.0) + 500.0 * std::max(0.0, days - 42.0);
    falling.push_back({days, 20 + given * k - 0.75 * days});
  }
  falling.push_back({45.5, 20 + (1500.0 * 28 + 500.0 * 3 + 312.0) * k - 0.75 * 45.5});
  const Advice again = advise(book_of(46, begun, falling), worked_site(), at(46));
  EXPECT_NEAR(again.next->count(), 625, 1);
  // A day's supply changes by half a degree at the most: 1382 mL.
  Site large = worked_site();
  large.per_millilitre = 10.0 * large.per_millilitre;
  const Advice strong = advise(weekly(8, 1900, 0.7), large, at(49));
  EXPECT_LE(std::abs(strong.next->count() - 1900), 138.2 + 0.1);
}

TEST(Advice, never_passes_the_evaporation_or_the_bound_of_a_day) {
  Site site = worked_site();
  site.most_per_day = Millilitres{1500};
  for (const double volume : {1400.0, 1900.0, 3500.0}) {
    const double k = site.per_millilitre.count();
    const Advice advice = advise(weekly(8, volume, 2.0 * volume * k, 24), site, at(49));
    EXPECT_LE(advice.next->count(), 1500) << volume;
    EXPECT_EQ(asks(advice, "more than 1500 mL may never be"), volume > 1500) << volume;
  }
}

/// Seven sound tests, and one more in the seventh week.
ReadBook with_newest(double reads) {
  ReadBook read = weekly(7, 1900, 0.70);
  for (int i = 42; i < 56; ++i) {
    read.book.entries.push_back({day(i), LimewaterGiven{Millilitres{1900}}});
  }
  read.book.entries.push_back({day(49), AlkalinityTest{Dkh{reads}}});
  std::stable_sort(read.book.entries.begin(), read.book.entries.end(),
                   [](const Entry& a, const Entry& b) { return a.at < b.at; });
  return read;
}

TEST(Advice, does_not_believe_a_test_that_is_not_what_was_foretold) {
  // No demand explains a rise of 3 dKH in a week: the volume that holds stays.
  const Advice high = advise(with_newest(11.3), worked_site(), at(49));
  EXPECT_TRUE(asks(high, "Test again within a day"));
  EXPECT_NEAR(high.hold_ml_per_day->median, 1935, 40);
  EXPECT_LE(high.next->count(), 1900);
  // A larger demand would explain this one: both are carried, and nothing is raised.
  const Advice low = advise(with_newest(5.5), worked_site(), at(49));
  EXPECT_TRUE(asks(low, "Test again within a day"));
  EXPECT_LT(low.hold_ml_per_day->ninety.low, 1960);
  EXPECT_GT(low.hold_ml_per_day->ninety.high, 2800);
  EXPECT_LE(low.next->count(), 1900);
  EXPECT_FALSE(asks(advise(with_newest(8.1), worked_site(), at(49)), "Test again"));
}

// Demand of 1.1 dKH a day since day 43: 8.2, 5.8, 3.0 on days 42, 49 and 56.
TEST(Advice, believes_a_jump_that_a_second_test_confirms) {
  ReadBook read = with_newest(5.8);
  read.book.entries.push_back({day(56), AlkalinityTest{Dkh{3.0}}});
  const Advice advice = advise(read, worked_site(), at(56));
  EXPECT_NEAR(advice.demand_dkh_per_day->median, 1.09, 0.08);
}

TEST(Advice, a_kit_that_reads_off_by_a_constant_changes_no_demand) {
  const Advice right = advise(weekly(8, 1900, 0.70, 8.3), worked_site(), at(49));
  const Advice off = advise(weekly(8, 1900, 0.70, 8.8), worked_site(), at(49));
  EXPECT_NEAR(off.demand_dkh_per_day->median, right.demand_dkh_per_day->median, 1e-3);
  EXPECT_NEAR(off.alkalinity_dkh->median, right.alkalinity_dkh->median + 0.5, 0.01);
}

TEST(Advice, another_kit_is_no_change_of_the_tank) {
  ReadBook read = weekly(8, 1900, 0.70);
  for (Entry& entry : read.book.entries) {
    auto* test = std::get_if<AlkalinityTest>(&entry.what);
    if (test != nullptr && entry.at > day(24)) {
      *test = {test->level + Dkh{0.9}, "the new one"};
    }
  }
  const Advice advice = advise(read, worked_site(), at(49));
  EXPECT_NEAR(advice.demand_dkh_per_day->median, 0.70, 0.02);
}

TEST(Advice, days_without_a_row_widen_and_are_asked_about) {
  ReadBook read = weekly(8, 1900, 0.70);
  const Advice whole = advise(read, worked_site(), at(49));
  std::erase_if(read.book.entries, [](const Entry& one) {
    return std::holds_alternative<LimewaterGiven>(one.what) && one.at >= day(30) &&
           one.at < day(35);
  });
  const Advice gap = advise(read, worked_site(), at(49));
  EXPECT_TRUE(asks(gap, "Of 5.0 days since the first test no row tells"));
  EXPECT_NEAR(gap.demand_dkh_per_day->median, 0.70, 0.03);
  const auto width = [](const Advice& a) {
    return a.hold_ml_per_day->ninety.high - a.hold_ml_per_day->ninety.low;
  };
  EXPECT_GT(width(gap), 1.2 * width(whole));
}

TEST(Advice, without_limewater_in_the_book_nothing_is_known) {
  ReadBook read = weekly(8, 1900, 0.70);
  std::erase_if(read.book.entries,
                [](const Entry& one) { return std::holds_alternative<LimewaterGiven>(one.what); });
  const Advice advice = advise(read, worked_site(), at(49));
  EXPECT_TRUE(asks(advice, "no limewater rows"));
  EXPECT_FALSE(advice.demand_dkh_per_day || advice.hold_ml_per_day || advice.next ||
               advice.present || advice.enough_tests);
  expect_finite(advice);
}

// Of a book that says that nothing was given the fall is the demand: 0.1 dKH a day.
TEST(Advice, limewater_of_nothing_is_known_to_be_nothing) {
  const Advice advice = advise(weekly(6, 0, 0.1, 9), worked_site(), at(35));
  ASSERT_TRUE(advice.demand_dkh_per_day);
  EXPECT_NEAR(advice.demand_dkh_per_day->median, 0.1, 0.005);
  EXPECT_NEAR(advice.hold_ml_per_day->median, 0.1 / 0.3618 * 1000, 15);
  EXPECT_GT(advice.next->count(), 200);
  EXPECT_LE(advice.next->count(), 1382);
}

TEST(Advice, is_finite_or_absent_whatever_the_book_says) {
  const Site site = worked_site();
  const ReadBook none;
  expect_finite(advise(none, site, at(0)));
  expect_finite(advise(book_of(1, {1900}, {}), site, at(1)));
  expect_finite(advise(book_of(1, {1900}, {{0.5, 8.3}}), site, at(1)));
  expect_finite(advise(book_of(1, {1900}, {{0.5, 8.3}, {0.5, 8.3}, {0.5, 8.4}}), site, at(1)));
  expect_finite(advise(book_of(2, {1900}, {{0.5, 1.5}, {0.55, 25}, {0.6, 1.5}}), site, at(2)));
  expect_finite(advise(book_of(50, {32000}, {{0, 1.5}, {25, 25}, {49, 1.5}}), site, at(50)));
  expect_finite(advise(book_of(50, {0, 32000, 0}, {{0, 25}, {1, 1.5}, {49, 25}}), site, at(50)));
  expect_finite(advise(book_of(50, {0}, {{0, 2}, {20, 10}, {40, 25}}), site, at(50)));
  // Ten years between two tests, and ten since the last.
  expect_finite(advise(book_of(1, {1900}, {{0, 8}, {3650, 9}}), site, at(3650)));
  expect_finite(advise(book_of(30, {1900}, {{0, 8}, {7, 8}, {14, 8}}), site, at(3650)));
  // A test each hour for a week.
  std::vector<Reads> hourly;
  hourly.reserve(168);
  for (int i = 0; i < 168; ++i) {
    hourly.push_back({i / 24.0, 8.0 + 0.1 * (i % 5)});
  }
  expect_finite(advise(book_of(7, {1900}, hourly), site, at(7)));
  // The smallest and the largest tank.
  for (const double litres : {1.0, 1e6}) {
    Site other = site;
    other.water = Litres{litres};
    other.per_millilitre = (320.0 / litres) * site.per_millilitre;
    expect_finite(advise(weekly(8, 1900, 0.70), other, at(49)));
  }
}

TEST(Advice, tells_of_levels_that_need_a_person) {
  EXPECT_TRUE(asks(advise(weekly(8, 1935, 0.70, 6.5), worked_site(), at(49)), "below 7"));
  const Advice high = advise(weekly(8, 1935, 0.70, 12), worked_site(), at(49));
  EXPECT_TRUE(asks(high, "above 11"));
  EXPECT_LT(high.next->count(), 1935);
  ReadBook read = weekly(8, 1935, 0.70);
  read.book.entries.push_back({day(49), CalciumTest{MgPerLitre{379}}});
  EXPECT_TRUE(asks(advise(read, worked_site(), at(49)), "Calcium was 379"));
  read.book.entries.push_back({day(49), CalciumTest{MgPerLitre{380}}});
  EXPECT_FALSE(asks(advise(read, worked_site(), at(49)), "Calcium"));
  read.book.entries.push_back({day(49), MagnesiumTest{MgPerLitre{1350}}});
  EXPECT_FALSE(asks(advise(read, worked_site(), at(49)), "Magnesium"));
  read.book.entries.push_back({day(49), MagnesiumTest{MgPerLitre{1351}}});
  EXPECT_TRUE(asks(advise(read, worked_site(), at(49)), "Magnesium was 1351"));
}

}  // namespace
}  // namespace limegate::care
