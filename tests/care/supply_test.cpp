#include "care/supply.h"

#include <chrono>
#include <vector>

#include <gtest/gtest.h>

#include "care/course.h"

namespace limegate::care {
namespace {

const WallTime kStart{std::chrono::sys_days{std::chrono::year{2026} / 9 / 1}};

WallTime day(double days) { return kStart + seconds_of(days * 86400.0); }

struct Row {
  double day;
  double ml;
};
Book book_of(const std::vector<Row>& rows) {
  Book book;
  for (const Row& row : rows) {
    book.entries.push_back({day(row.day), LimewaterGiven{Millilitres{row.ml}}});
  }
  return book;
}

void expect_given(const Supply& supply, Row from, double to, double sd, double unknown = 0.0) {
  const Supply::Given given = supply.between(day(from.day), day(to));
  EXPECT_NEAR(given.volume.count(), from.ml, 1e-6);
  EXPECT_NEAR(given.sd.count(), sd, 1e-6);
  EXPECT_NEAR(given.unknown_days, unknown, 1e-9);
}

TEST(Supply, gives_each_row_over_its_24_hours) {
  const Supply supply{book_of({{0.25, 1000}, {1.25, 2000}}), day(2.25)};
  expect_given(supply, {0.25, 1000}, 1.25, 0);
  expect_given(supply, {0.75, 500 + 1000}, 1.75, 0);
  EXPECT_EQ(supply.present().count(), 2000);
}

TEST(Supply, takes_a_day_without_a_row_for_the_mean_and_not_for_nothing) {
  const Supply supply{book_of({{0, 1000}, {2, 2000}}), day(3)};
  expect_given(supply, {0, 1000 + 1500 + 2000}, 3, 750, 1.0);
}

TEST(Supply, knows_least_of_what_was_before_its_first_row) {
  const Supply supply{book_of({{1, 1000}}), day(2)};
  expect_given(supply, {0, 2000}, 2, 1000, 1.0);
}

TEST(Supply, goes_on_with_the_present_volume_in_what_is_to_come) {
  const Supply supply{book_of({{0, 1000}, {1, 1200}}), day(2)};
  expect_given(supply, {2, 8400}, 9, 0);
  // Rows that end before the moment leave a gap up to it.
  const Supply late{book_of({{0, 1000}, {1, 1200}}), day(4)};
  expect_given(late, {2, 1200}, 3, 120, 1.0);  // a row that may come yet
  expect_given(late, {3, 1200}, 4, 600, 1.0);
  expect_given(late, {4, 1200}, 5, 0);
}

TEST(Supply, follows_what_is_planned) {
  const Supply supply{book_of({{0, 1000}, {3, 2000}}), day(1)};
  EXPECT_EQ(supply.present().count(), 1000);
  expect_given(supply, {1, 2 * 1000 + 2000}, 4, 0);
}

TEST(Supply, takes_the_mean_of_rows_that_tell_of_the_same_hours) {
  const Supply supply{book_of({{0, 1000}, {0, 1000}, {0.5, 2000}}), day(1.5)};
  // 12 h of 1000 a day, 12 h of the three rows' mean, 12 h of 2000.
  expect_given(supply, {0, 500 + 4000.0 / 3 / 2 + 1000}, 1.5, 0);
}

TEST(Supply, of_no_row_is_empty) {
  const Supply supply{Book{}, day(1)};
  EXPECT_TRUE(supply.empty());
  expect_given(supply, {0, 0}, 1, 0);
}

// A supplement of 400 meq into 400 L is 1 meq/L: 2.804 dKH (TRADE.md), ± 5 %. A tenth of the water
// changed for one of 9 dKH.
TEST(Course, takes_what_else_was_mixed_in_at_its_time) {
  Book book = book_of({{0, 1000}, {1, 1000}, {2, 1000}, {3, 1000}});
  book.entries.insert(book.entries.begin() + 1, {day(0.5), Supplement{Milliequivalents{400}}});
  book.entries.insert(book.entries.begin() + 2, {day(0.7), NewWater{Dkh{9}}});
  book.entries.insert(book.entries.begin() + 4, {day(1.5), WaterChange{Litres{40}}});
  const Course course{
      book, {Litres{400}, Millilitres{4000}, Millilitres{4000}, Dkh{0.0003}}, day(4)};
  const Stretch stretch = course.between(day(0), day(3));
  ASSERT_EQ(stretch.moves.size(), 3U);
  EXPECT_NEAR(stretch.moves[0].days, 0.5, 1e-9);
  EXPECT_NEAR(stretch.moves[0].supply, 0.15, 1e-9);
  EXPECT_NEAR(stretch.moves[0].added, 2.804, 0.001);
  EXPECT_NEAR(stretch.moves[0].added_variance, 0.1402 * 0.1402, 1e-4);
  EXPECT_NEAR(stretch.moves[1].kept, 0.9, 1e-9);
  EXPECT_NEAR(stretch.moves[1].added, 0.9, 1e-9);
  EXPECT_NEAR(stretch.moves[2].days, 1.5, 1e-9);
  ASSERT_EQ(stretch.cuts.size(), 2U);
  EXPECT_EQ(stretch.cuts[0].before.size(), 2U);  // the cut is at 0.75
  EXPECT_EQ(stretch.cuts[0].after.size(), 2U);
}

TEST(Course, looks_for_no_step_between_two_tests_of_one_hour) {
  const Course course{book_of({{0, 1000}}),
                      {Litres{400}, Millilitres{4000}, Millilitres{4000}, Dkh{0.0003}},
                      day(4)};
  EXPECT_TRUE(course.between(day(0), day(0.04)).cuts.empty());
  EXPECT_TRUE(course.between(day(0), day(0)).cuts.empty());
}

}  // namespace
}  // namespace limegate::care
