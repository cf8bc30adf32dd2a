// The recorded readings over a span, as a chart wants them.

#include "journal/course.h"

#include <algorithm>

#include <gtest/gtest.h>

#include "journal/readings.h"
#include "journal/scratch.h"

namespace limegate::journal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

const WallTime kTen{490000h};

class CourseTest : public Scratch {
 protected:
  CourseTest() { path = (folder / "readings.sqlite").string(); }

  /// A row each ten seconds of [from, from + lasting), each of this pH.
  void write(WallTime from, Duration lasting, std::optional<double> ph,
             const std::string& station = "reef") {
    std::vector<ReadingRow> rows;
    for (Duration at{}; at < lasting; at += 10s) {
      rows.push_back({from + at, station, ph, 25.0, ph ? "good" : "stale", "good", true});
    }
    auto readings = Readings::open(path, boot.now.wall);
    ASSERT_TRUE(readings);
    ASSERT_TRUE(readings->append(rows, {}));
  }
  [[nodiscard]] Course read(std::chrono::hours span, WallTime until = kTen) const {
    const auto course = read_course(path, {"reef", until, span});
    EXPECT_TRUE(course) << course.error().text();
    return course.value_or(Course{});
  }
};

TEST_F(CourseTest, an_hour_is_as_it_came) {
  write(kTen - 1h, 30min, 8.2);
  const Course hour = read(1h);
  EXPECT_EQ(hour.step, 10s);
  ASSERT_EQ(hour.steps.size(), 360U);
  EXPECT_EQ(hour.from, kTen - 1h + 10s) << "the last step holds the present";
  EXPECT_EQ(hour.steps.front().ph_mean, 8.2);
  EXPECT_EQ(hour.steps.front().temperature, 25.0);
  EXPECT_EQ(hour.steps[178].ph_mean, 8.2);
  EXPECT_FALSE(hour.steps[179].ph_mean) << "nobody wrote it down";
  EXPECT_FALSE(hour.steps.back().temperature);
}

TEST_F(CourseTest, a_spike_is_never_lost) {
  write(kTen - 24h, 24h, 8.2);
  write(kTen - 12h - 5s, 1s, 8.9);
  const Course day = read(24h);
  EXPECT_LE(day.steps.size(), static_cast<std::size_t>(kCourseSteps));
  const auto spike = std::max_element(day.steps.begin(), day.steps.end(),
                                      [](const Course::Step& a, const Course::Step& b) {
                                        return a.ph_high.value_or(0) < b.ph_high.value_or(0);
                                      });
  EXPECT_EQ(spike->ph_high, 8.9);
  EXPECT_EQ(spike->ph_low, 8.2);
  EXPECT_LT(*spike->ph_mean, 8.3);
  EXPECT_EQ(std::count_if(day.steps.begin(), day.steps.end(),
                          [](const Course::Step& step) { return step.ph_high > 8.5; }),
            1);
}

TEST_F(CourseTest, a_bad_reading_is_none_and_the_temperature_beside_it_is_kept) {
  write(kTen - 1h, 30min, std::nullopt);
  const Course hour = read(1h);
  EXPECT_FALSE(hour.steps.front().ph_mean);
  EXPECT_EQ(hour.steps.front().temperature, 25.0);
}

TEST_F(CourseTest, what_was_thinned_out_goes_on_into_what_was_not) {
  write(kTen - 48h, 24h, 8.0);
  write(kTen - 24h, 24h, 8.4);
  {
    auto readings = Readings::open(path, boot.now.wall);
    ASSERT_TRUE(readings);
    ASSERT_TRUE(readings->thin_out(kTen, {.fine = 24h}));
  }
  const Course week = read(std::chrono::hours{24 * 7});
  EXPECT_EQ(week.step, 20min);
  ASSERT_EQ(week.steps.size(), 504U);
  EXPECT_EQ(week.steps[503 - 6].ph_mean, 8.4);
  EXPECT_EQ(week.steps[503 - 3 * 24 - 6].ph_mean, 8.0);
  EXPECT_EQ(week.steps[503 - 3 * 24 - 6].temperature, 25.0);
  EXPECT_FALSE(week.steps.front().ph_mean);
}

TEST_F(CourseTest, another_station_is_another_course) {
  write(kTen - 1h, 30min, 8.2, "nano");
  EXPECT_FALSE(read(1h).steps.front().ph_mean);
}

TEST_F(CourseTest, a_record_that_is_not_there_is_an_error_and_is_not_begun) {
  const auto course = read_course(path, {"reef", kTen, 1h});
  EXPECT_FALSE(course);
  EXPECT_FALSE(std::filesystem::exists(path));
}

}  // namespace
}  // namespace limegate::journal
