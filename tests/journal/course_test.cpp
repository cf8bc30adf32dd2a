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

bool knows_the_usual(const Course& course) {
  return std::any_of(course.steps.begin(), course.steps.end(),
                     [](const Course::Step& step) { return step.usual.has_value(); });
}

class CourseTest : public Scratch {
 protected:
  CourseTest() { files = {(folder / "readings.sqlite").string(), path}; }

  /// A row each ten seconds of [from, from + lasting), each of this pH.
  void write(WallTime from, Duration lasting, std::optional<double> ph,
             const std::string& station = "reef") {
    std::vector<ReadingRow> rows;
    for (Duration at{}; at < lasting; at += 10s) {
      rows.push_back({from + at, station, ph, 25.0, ph ? "good" : "stale", "good", true});
    }
    auto readings = Readings::open(files.readings, boot.now.wall);
    ASSERT_TRUE(readings);
    ASSERT_TRUE(readings->append(rows, {}));
  }
  [[nodiscard]] Course read(std::chrono::hours span, WallTime until = kTen) {
    const auto course = read_course(files, {"reef", until - span, until}, &usual);
    EXPECT_TRUE(course) << course.error().text();
    return course.value_or(Course{});
  }

  RecordFiles files;
  UsualDays usual;
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
    auto readings = Readings::open(files.readings, boot.now.wall);
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

// From an hour to five years: the same numbers, whatever they are read from.
TEST_F(CourseTest, is_the_same_from_the_rows_as_from_what_they_are_summed_up_to) {
  write(kTen - 24h, 20min, 8.0);
  write(kTen - 23h, 10s, std::nullopt);
  write(kTen - 2h, 2h, 8.4);
  const std::pair<std::chrono::hours, std::chrono::seconds> spans[] = {
      {1h, 10s}, {9h, 1min}, {24h, 3min}, {24h * 30, 80min}, {24h * 365, 16h}, {24h * 1825, 74h}};
  for (const auto& [span, length] : spans) {
    const Course course = read(span);
    EXPECT_EQ(course.step, length);
    EXPECT_LE(course.steps.size(), static_cast<std::size_t>(kCourseSteps)) << span.count();
    const auto newest = std::find_if(course.steps.rbegin(), course.steps.rend(),
                                     [](const Course::Step& step) { return bool{step.ph_mean}; });
    ASSERT_NE(newest, course.steps.rend()) << span.count();
    EXPECT_EQ(newest->ph_high, 8.4) << span.count();
    EXPECT_EQ(newest->ph_low, course.step > 24h ? 8.0 : 8.4) << span.count();
    EXPECT_EQ(newest->temperature_low, 25.0) << span.count();
    EXPECT_EQ(newest->temperature_high, 25.0) << span.count();
  }
}

TEST_F(CourseTest, of_a_temperature_a_spike_is_not_lost_either) {
  write(kTen - 24h, 24h, 8.2);
  auto readings = Readings::open(files.readings, boot.now.wall);
  ASSERT_TRUE(readings);
  ASSERT_TRUE(readings->append({{kTen - 12h, "reef", 8.2, 31.5, "good", "good", true}}, {}));
  const Course month = read(24h * 30);
  EXPECT_EQ(std::count_if(month.steps.begin(), month.steps.end(),
                          [](const Course::Step& step) { return step.temperature_high == 31.5; }),
            1);
}

TEST_F(CourseTest, a_record_of_an_older_version_says_what_to_do) {
  write(kTen - 1h, 10min, 8.2);
  auto readings = Database::open(files.readings, Creating::no, Sync::normal);
  ASSERT_TRUE(readings && readings->execute("DROP TRIGGER levels_kept; DROP TABLE levels"));
  const auto course = read_course(files, {"reef", kTen - 1h, kTen});
  ASSERT_FALSE(course);
  EXPECT_NE(course.error().text().find("an older version"), std::string::npos);
}

TEST_F(CourseTest, another_station_is_another_course) {
  write(kTen - 1h, 30min, 8.2, "nano");
  EXPECT_FALSE(read(1h).steps.front().ph_mean);
}

TEST_F(CourseTest, what_was_given_stands_in_the_step_in_which_it_ended) {
  boot.now.wall = kTen - 6h;
  Ledger ledger = prepared();
  later(2h);
  ASSERT_TRUE(ledger.append("reef", pulse(ledger, 1, 30.0)));
  ASSERT_TRUE(ledger.close_pulse("reef", 1, station::Fate::given, Millilitres{30.0}));
  ASSERT_TRUE(ledger.append("reef", pulse(ledger, 2, 50.0))) << "nobody knows what flowed";
  write(kTen - 24h, 10s, 8.2);
  const Course day = read(24h);
  ASSERT_EQ(day.step, 3min);
  const auto at = [&](Duration before) {
    return static_cast<std::size_t>((kTen - before - day.from) / day.step);
  };
  EXPECT_EQ(day.steps[at(4h)].given, 30.0);
  EXPECT_EQ(day.steps[at(4h) - 1].given, 0.0);
  EXPECT_FALSE(day.steps[at(7h)].given) << "before the station was";
  double sum = 0.0;
  for (const Course::Step& step : day.steps) {
    sum += step.given.value_or(0.0);
  }
  EXPECT_EQ(sum, 30.0);
}

TEST_F(CourseTest, the_sum_of_a_day_is_spread_over_it) {
  boot.now.wall = kTen - std::chrono::hours{24 * 100};
  { const Ledger begun = prepared(); }
  const auto day_of_ten = std::chrono::floor<std::chrono::days>(kTen).time_since_epoch().count();
  auto ledger = Database::open(path, Creating::no, Sync::normal);
  ASSERT_TRUE(ledger);
  ASSERT_TRUE(ledger->execute(("INSERT INTO days VALUES('reef', " + std::to_string(day_of_ten - 5) +
                               ", 48, 2400000, 0, 12, 0, 0)")
                                  .c_str()));
  write(kTen - 24h, 10s, 8.2);
  double sum = 0.0, most = 0.0;
  for (const Course::Step& step : read(24h * 10).steps) {
    sum += step.given.value_or(0.0);
    most = std::max(most, step.given.value_or(0.0));
  }
  EXPECT_NEAR(sum, 2400.0, 1e-9);
  EXPECT_NEAR(most, 2400.0 * 30 / 1440, 1e-9) << "of a step of half an hour";
}

TEST_F(CourseTest, without_a_ledger_what_was_given_is_unknown) {
  write(kTen - 1h, 30min, 8.2);
  EXPECT_FALSE(read(1h).steps.front().given);
  EXPECT_EQ(read(1h).steps.front().ph_mean, 8.2);
  EXPECT_FALSE(std::filesystem::exists(path)) << "and is not begun";
}

TEST_F(CourseTest, a_record_that_is_not_there_is_an_error_and_is_not_begun) {
  const auto course = read_course(files, {"reef", kTen - 1h, kTen});
  EXPECT_FALSE(course);
  EXPECT_FALSE(std::filesystem::exists(files.readings));
}

TEST_F(CourseTest, the_usual_is_what_the_days_before_were_but_for_the_lowest_and_the_highest) {
  // Ten days: 8.10 at one quarter of an hour, 8.11 the next day, and so on; today is far above.
  for (int day = 1; day <= 10; ++day) {
    write(kTen - std::chrono::hours{24 * day + 1}, 15min, 8.10 + 0.01 * day);
  }
  write(kTen - 1h, 15min, 8.9);
  const Course two = read(2h);
  const auto seen = std::find_if(two.steps.begin(), two.steps.end(),
                                 [](const Course::Step& step) { return step.usual.has_value(); });
  ASSERT_NE(seen, two.steps.end());
  EXPECT_NEAR(*seen->ph_mean, 8.9, 1e-9);
  EXPECT_NEAR(seen->usual->low, 8.12, 1e-9);
  EXPECT_NEAR(seen->usual->high, 8.19, 1e-9);
  EXPECT_FALSE(two.steps.back().usual) << "nobody has seen that time of day";
  EXPECT_FALSE(read(24h * 60).steps.back().usual) << "a step is longer than what is usual";
}

TEST_F(CourseTest, six_days_are_not_yet_usual_and_a_day_is_not_measured_by_itself) {
  for (int day = 0; day <= 6; ++day) {
    write(kTen - std::chrono::hours{24 * day + 1}, 15min, 8.2);
  }
  EXPECT_FALSE(knows_the_usual(read(2h)));
  write(kTen - std::chrono::hours{24 * 7 + 1}, 15min, 8.2);
  usual = {};
  EXPECT_TRUE(knows_the_usual(read(2h)));
}

TEST_F(CourseTest, the_usual_is_read_anew_once_an_hour) {
  for (int day = 1; day <= 6; ++day) {
    write(kTen - std::chrono::hours{24 * day + 1}, 15min, 8.2);
  }
  EXPECT_FALSE(knows_the_usual(read(2h)));
  write(kTen - std::chrono::hours{24 * 7 + 1}, 15min, 8.2);
  EXPECT_FALSE(knows_the_usual(read(2h, kTen + 59min)));
  EXPECT_TRUE(knows_the_usual(read(3h, kTen + 61min)));
  const auto plainly = read_course(files, {"reef", kTen - 2h, kTen});
  EXPECT_FALSE(knows_the_usual(*plainly)) << "nobody asked for it";
}

}  // namespace
}  // namespace limegate::journal
