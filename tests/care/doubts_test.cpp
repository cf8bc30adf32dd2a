#include "care/doubts.h"

#include <string>

#include <gtest/gtest.h>

#include "support/program.h"
#include "units/rfc3339.h"

namespace limegate::care {
namespace {

using test::contains;

const Site kSite{Litres{400}, Millilitres{4000}, Millilitres{4000}, Dkh{0.0003}};

ReadBook kept(const std::string& rows, const std::string& at = "2026-09-20T00:00:00Z") {
  const auto read = read_book("time,what,value,unit\n" + rows);
  EXPECT_TRUE(read);
  return without_doubtful(*read, kSite, *parse_rfc3339(at));
}

void expect_remark(const ReadBook& book, int line, const std::string& says, std::size_t entries) {
  ASSERT_EQ(book.remarks.size(), 1U);
  EXPECT_EQ(book.remarks[0].line, line);
  EXPECT_TRUE(contains(book.remarks[0].what, says)) << book.remarks[0].what;
  EXPECT_EQ(book.book.entries.size(), entries);
}

std::string days_of(const std::vector<std::string>& volumes) {
  std::string rows;
  for (std::size_t i = 0; i < volumes.size(); ++i) {
    rows += "2026-09-1" + std::to_string(i) + "T00:00:00Z,limewater," + volumes[i] + ",mL\n";
  }
  return rows;
}

TEST(Doubts, write_numbers_out) {
  const ReadBook book = kept(days_of({"1900", "5000000", "1900"}));
  expect_remark(book, 3, "limewater of 5000000 mL is more than 400 L of water", 2);
}

TEST(Doubts, leave_a_sound_book_as_it_is) {
  const ReadBook book = kept(days_of({"1000", "1900", "0", "1900", "2100", "500"}) +
                             "2026-09-10T08:00:00Z,alkalinity,8.1,dKH\n"
                             "2026-09-12T08:00:00Z,new_water,8.5,dKH\n"
                             "2026-09-12T08:00:00Z,water_change,400,L\n"
                             "2026-09-12T08:00:00Z,supplement,100,meq\n"
                             "2026-09-12T08:00:00Z,calcium,420,mg/L\n");
  EXPECT_TRUE(book.remarks.empty());
  EXPECT_EQ(book.book.entries.size(), 11U);
}

TEST(Doubts, a_test_of_the_future_is_not_used) {
  const std::string rows = days_of({"1000"}) + "2026-09-10T08:00:00Z,alkalinity,8.1,dKH\n";
  expect_remark(kept(rows, "2026-09-10T07:59:59Z"), 3, "is later than 2026-09-10T07:59:59Z", 1);
  EXPECT_TRUE(kept(rows, "2026-09-10T08:00:00Z").remarks.empty());
  // A year too high; and several are one sentence.
  const ReadBook many = kept(days_of({"1000"}) +
                             "2027-09-10T08:00:00Z,alkalinity,8.1,dKH\n"
                             "2026-10-10T08:00:00Z,water_change,40,L\n"
                             "2027-09-11T08:00:00Z,calcium,410,mg/L\n");
  expect_remark(many, 4, "(so are lines 3, 5)", 1);
}

TEST(Doubts, limewater_to_come_is_a_plan_and_said_to_be) {
  expect_remark(kept(days_of({"1000"}) + "2026-09-21T00:00:00Z,limewater,1000,mL\n"), 3,
                "counts as planned", 2);
}

TEST(Doubts, a_test_before_the_first_limewater_is_not_used) {
  expect_remark(kept("2026-09-08T23:59:59Z,alkalinity,8.1,dKH\n" + days_of({"1000"})), 2,
                "before the first limewater", 1);
  EXPECT_TRUE(
      kept("2026-09-09T00:00:00Z,alkalinity,8.1,dKH\n" + days_of({"1000"})).remarks.empty());
  // Where there is no limewater at all it is another's to say.
  EXPECT_TRUE(kept("2026-09-09T00:00:00Z,alkalinity,8.1,dKH\n").remarks.empty());
}

TEST(Doubts, volumes_that_this_tank_can_not_have_had_are_not_used) {
  expect_remark(kept("2026-09-10T00:00:00Z,limewater,40001,mL\n"), 2, "slip by ten", 0);
  EXPECT_TRUE(kept("2026-09-10T00:00:00Z,limewater,40000,mL\n").remarks.empty());
  expect_remark(kept("2026-09-10T00:00:00Z,water_change,401,L\n"), 2, "more than the tank has", 0);
  // 4 dKH of 400 L are 570.6 meq.
  expect_remark(kept("2026-09-10T00:00:00Z,supplement,571,meq\n"), 2, "at once", 0);
  EXPECT_TRUE(kept("2026-09-10T00:00:00Z,supplement,570,meq\n").remarks.empty());
}

TEST(Doubts, a_digit_too_many_or_too_few_in_a_day_is_found_by_the_days_beside_it) {
  expect_remark(kept(days_of({"1900", "19000", "1900"})), 3, "one too many", 2);
  expect_remark(kept(days_of({"1900", "190", "1900"})), 3, "is a digit missing", 2);
  expect_remark(kept(days_of({"1900", "1900", "19000"})), 4, "one too many", 2);
  expect_remark(kept(days_of({"190", "1900", "1900"})), 2, "is a digit missing", 2);
  // A keeper who begins, or ends, is none.
  EXPECT_TRUE(kept(days_of({"190", "190", "1900", "1900"})).remarks.empty());
  EXPECT_TRUE(kept(days_of({"1900", "0", "0", "1900"})).remarks.empty());
  EXPECT_TRUE(kept(days_of({"0", "0", "1900"})).remarks.empty());
}

TEST(Doubts, two_tests_of_one_hour_that_disagree_are_asked_about_and_used) {
  const std::string first = days_of({"1000"}) + "2026-09-10T08:00:00Z,alkalinity,8.0,dKH\n";
  expect_remark(kept(first + "2026-09-10T08:10:00Z,alkalinity,8.9,dKH\n"), 4,
                "one 10 min before it 8.0", 3);
  EXPECT_TRUE(kept(first + "2026-09-10T08:10:00Z,alkalinity,8.8,dKH\n").remarks.empty());
  EXPECT_TRUE(kept(first + "2026-09-10T09:00:01Z,alkalinity,8.9,dKH\n").remarks.empty());
}

TEST(Doubts, a_digit_too_many_or_too_few_in_a_test_is_found_by_the_tests_beside_it) {
  const auto tests = [](const std::vector<std::string>& values) {
    std::string rows = days_of({"1000"});
    for (std::size_t i = 0; i < values.size(); ++i) {
      rows += "2026-09-1" + std::to_string(i) + "T08:00:00Z,alkalinity," + values[i] + "\n";
    }
    return kept(rows);
  };
  expect_remark(tests({"8.1,dKH", "0.81,dKH", "8.0,dKH"}), 4, "0.81 dKH is far from the tests", 3);
  expect_remark(tests({"8.1,dKH", "8.0,dKH", "8.0,ppm"}), 5, "the wrong unit", 3);
  expect_remark(tests({"8.0,ppm", "8.1,dKH", "8.0,dKH"}), 3, "the wrong unit", 3);
  expect_remark(tests({"5.1,dKH", "50,dKH", "5.0,dKH"}), 4, "one too many", 3);
  // A tank that nobody looked after falls far, step by step: asked about, and used.
  expect_remark(tests({"5.0,dKH", "2.5,dKH", "0.9,dKH", "0.2,dKH"}), 4, "Test again", 5);
}

TEST(Doubts, two_rows_of_the_same_day_that_differ_are_asked_about) {
  const std::string first = "2026-09-10T00:00:00Z,limewater,1000,mL\n";
  expect_remark(kept(first + "2026-09-10T00:00:00Z,limewater,1200,mL\n"), 3,
                "one of 1000 mL and one of 1200", 2);
  EXPECT_TRUE(kept(first + first).remarks.empty());
  EXPECT_TRUE(kept(first + "2026-09-10T12:00:00Z,limewater,1200,mL\n").remarks.empty());
}

TEST(Doubts, water_that_nobody_tested_is_asked_about_once) {
  expect_remark(kept(days_of({"1000"}) + "2026-09-10T08:00:00Z,water_change,40,L\n"
                                         "2026-09-17T08:00:00Z,water_change,40,L\n"),
                3, "counts as 8.5 dKH", 3);
}

TEST(Doubts, unusual_levels_are_asked_about_and_used) {
  // 2.9 is 8.1 dKH in meq/L.
  expect_remark(kept(days_of({"1000"}) + "2026-09-10T08:00:00Z,alkalinity,2.9,dKH\n"), 3,
                "1 meq/L is 2.8 dKH", 2);
  expect_remark(kept(days_of({"1000"}) + "2026-09-10T08:00:00Z,alkalinity,14.1,dKH\n"), 3,
                "Test again", 2);
  EXPECT_TRUE(kept(days_of({"1000"}) + "2026-09-10T08:00:00Z,alkalinity,14,dKH\n").remarks.empty());
}

TEST(Doubts, come_with_those_of_the_reader_by_line) {
  const ReadBook book = kept("2026-09-10T00:00:00Z,limewater,40001,mL\nnever,limewater,1,mL\n");
  ASSERT_EQ(book.remarks.size(), 2U);
  EXPECT_EQ(book.remarks[0].line, 2);
  EXPECT_EQ(book.remarks[1].line, 3);
}

}  // namespace
}  // namespace limegate::care
