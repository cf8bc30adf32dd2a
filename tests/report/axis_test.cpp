// Axes against worked examples.

#include "report/axis.h"

#include <chrono>
#include <cmath>
#include <limits>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

namespace limegate::report {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using testing::ElementsAre;

std::vector<std::string> words(const Axis& axis) {
  std::vector<std::string> all;
  all.reserve(axis.ticks.size());
  for (const Axis::Tick& tick : axis.ticks) {
    all.push_back(tick.words);
  }
  return all;
}

TEST(ValueAxis, begins_and_ends_on_round_numbers) {
  EXPECT_THAT(words(value_axis(8.03, 8.31, 5)), ElementsAre("8.0", "8.1", "8.2", "8.3", "8.4"));
  EXPECT_THAT(words(value_axis(0.0, 1234.0, 5)), ElementsAre("0", "500", "1000", "1500"));
  EXPECT_THAT(words(value_axis(0.0, 1000.0, 5)),
              ElementsAre("0", "200", "400", "600", "800", "1000"));
  EXPECT_THAT(words(value_axis(-1.0, 1.0, 4)), ElementsAre("-1.0", "-0.5", "0.0", "0.5", "1.0"));
  EXPECT_THAT(words(value_axis(25.31, 25.34, 5)), ElementsAre("25.31", "25.32", "25.33", "25.34"));
}

TEST(ValueAxis, of_one_value_or_of_none_is_still_an_axis) {
  EXPECT_THAT(words(value_axis(8.0, 8.0, 5)), ElementsAre("7.5", "8.0", "8.5"));
  const double nan = std::numeric_limits<double>::quiet_NaN();
  EXPECT_THAT(words(value_axis(nan, 2.0, 5)),
              ElementsAre("0.0", "0.2", "0.4", "0.6", "0.8", "1.0"));
  const double infinity = std::numeric_limits<double>::infinity();
  EXPECT_EQ(value_axis(infinity, -infinity, 5).to, 1.0) << "of nothing that was taken";
}

RC_GTEST_PROP(ValueAxisProperty, holds_its_values_on_few_marks, (int low, int more, int scale)) {
  const double unit = std::pow(10.0, scale % 7);
  const double from = low % 100000 * unit, to = from + (std::abs(more % 100000) + 1) * unit;
  const Axis axis = value_axis(from, to, 5);
  RC_ASSERT(axis.from <= from + unit * 1e-6);
  RC_ASSERT(axis.to >= to - unit * 1e-6);
  RC_ASSERT(axis.ticks.size() >= 2U);
  RC_ASSERT(axis.ticks.size() <= 6U);
}

TEST(ClockAxis, marks_midnights_of_a_month_and_hours_of_a_day) {
  const WallTime may{std::chrono::sys_days{std::chrono::year{2026} / 5 / 1}};
  EXPECT_THAT(words(clock_axis(may, may + 24h * 9)),
              ElementsAre("May 01", "May 02", "May 03", "May 04", "May 05", "May 06", "May 07",
                          "May 08", "May 09", "May 10"));
  EXPECT_THAT(words(clock_axis(may + 90min, may + 24h)),
              ElementsAre("03:00", "06:00", "09:00", "12:00", "15:00", "18:00", "21:00", "May 02"));
  const Axis years = clock_axis(may, may + 24h * 1827);
  EXPECT_LE(years.ticks.size(), 11U);
  EXPECT_EQ(years.ticks.front().words.substr(3), " 2026");
}

TEST(CourseAxis, counts_days_from_the_first) {
  EXPECT_THAT(words(course_axis(24h * 3)),
              ElementsAre("day 1", "12:00", "day 2", "12:00", "day 3", "12:00", "day 4"));
  EXPECT_THAT(words(course_axis(0h)), ElementsAre("day 1")) << "of nothing, too";
}

TEST(DayAxis, is_from_midnight_to_midnight) {
  EXPECT_THAT(words(day_axis()), ElementsAre("00:00", "03:00", "06:00", "09:00", "12:00", "15:00",
                                             "18:00", "21:00", "24:00"));
  EXPECT_EQ(day_axis().share(43200.0), 0.5);
}

}  // namespace
}  // namespace limegate::report
