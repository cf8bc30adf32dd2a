// A record that is read beside a daemon, or between two.

#include <algorithm>
#include <filesystem>
#include <vector>

#include <gtest/gtest.h>

#include "journal/course.h"
#include "journal/happenings.h"
#include "journal/readings.h"
#include "journal/recorded.h"
#include "journal/scratch.h"
#include "journal/standing.h"

namespace limegate::journal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

const WallTime kTen{490000h};
constexpr std::chrono::seconds kDay = 24h;

class BesideTest : public Scratch {
 protected:
  BesideTest() { files = {(folder / "readings.sqlite").string(), path}; }
  /// A row each ten seconds of [from, from + lasting), each of this pH.
  void write(WallTime from, Duration lasting, double ph) const {
    std::vector<ReadingRow> rows;
    for (Duration at{}; at < lasting; at += 10s) {
      rows.push_back({from + at, "reef", ph, 25.0, "good", "good", true});
    }
    auto readings = Readings::open(files.readings, boot.now.wall);
    ASSERT_TRUE(readings);
    ASSERT_TRUE(readings->append(rows, {}));
  }
  RecordFiles files;
};

// A next start must find what a power cut did to the log (log_check.h): who only reads must not
// fold it away.
TEST_F(BesideTest, the_log_stays_as_it_is) {
  const std::string cut = (folder / "copy.sqlite").string();
  {
    Ledger ledger = prepared();
    ASSERT_TRUE(ledger.append("reef", pulse(ledger, 1)));
    for (const char* part : {"", "-wal"}) {
      std::filesystem::copy_file(path + part, cut + part);
    }
  }
  const auto bytes = std::filesystem::file_size(cut + "-wal");
  ASSERT_GT(bytes, 0U) << "as a power cut leaves it";
  ASSERT_TRUE(read_standing(cut, "reef"));
  EXPECT_EQ(std::filesystem::file_size(cut + "-wal"), bytes);
  const auto database = Database::beside(cut);
  ASSERT_TRUE(database);
  EXPECT_EQ(database->number("SELECT count(*) FROM pulses"), 1) << "and what is in it is read";
  EXPECT_FALSE(database->execute("DELETE FROM pulses"));
}

TEST_F(BesideTest, days_of_a_course_begin_at_midnight) {
  write(kTen - 48h, 48h, 8.2);
  const auto midnight = std::chrono::floor<std::chrono::days>(kTen);
  const auto course = read_course(files, {"reef", midnight - 2 * kDay, kTen, kDay});
  ASSERT_TRUE(course);
  EXPECT_EQ(course->from, midnight - 2 * kDay);
  EXPECT_EQ(course->steps.size(), 3U);
  EXPECT_FALSE(course->station_since) << "there is no ledger";
}

TEST_F(BesideTest, ph_by_the_time_of_day_is_of_all_days) {
  const WallTime midnight = std::chrono::floor<std::chrono::days>(kTen);
  write(midnight - 48h, 15min, 8.0);
  write(midnight - 24h, 15min, 8.4);
  write(midnight - 24h + 15min, 15min, 8.1);
  Ledger ledger = prepared();
  ASSERT_TRUE(ledger.keep("reef", station::StoreQuarter{1, {8.05, 3}}));
  const auto day = read_day_of_ph(files, {"reef", midnight - 72h, midnight});
  ASSERT_TRUE(day);
  EXPECT_EQ(day->was[0].ph_low, 8.0);
  EXPECT_NEAR(*day->was[0].ph_mean, 8.2, 1e-9);
  EXPECT_EQ(day->was[0].ph_high, 8.4);
  EXPECT_EQ(day->was[1].ph_high, 8.1);
  EXPECT_FALSE(day->was[2].ph_mean);
  EXPECT_FALSE(day->usual[0]);
  EXPECT_EQ(day->usual[1], 8.05);
}

TEST_F(BesideTest, short_holds_and_old_events_are_told_too) {
  using Event = station::Event;
  auto readings = Readings::open(files.readings, boot.now.wall);
  ASSERT_TRUE(readings);
  std::vector<std::pair<std::string, Event>> told;
  for (int i = 0; i < 600; ++i) {
    const WallTime at = kTen - 24h + std::chrono::seconds{100 * i};
    told.push_back({"reef", {at, station::Severity::info, "held-settling", "Settles."}});
    told.push_back({"reef", {at + 1s, station::Severity::info, "cleared-settling", "Clear."}});
  }
  ASSERT_TRUE(readings->append({}, told));
  const HappeningsAsked asked{"reef", kTen - 24h, kTen};
  const auto holds = read_holds(files.readings, asked);
  ASSERT_TRUE(holds);
  EXPECT_EQ(holds->size(), 600U);
  EXPECT_EQ(*holds->front().until - holds->front().since, 1s);
  std::vector<WallTime> at;
  ASSERT_TRUE(read_events(files.readings, asked, [&](const auto& one) { at.push_back(one.at); }));
  EXPECT_EQ(at.size(), 1200U);
  EXPECT_TRUE(std::is_sorted(at.begin(), at.end()));
}

TEST_F(BesideTest, rows_are_handed_on_one_by_one) {
  write(kTen - 48h, 20min, 8.0);
  write(kTen - 1h, 30s, 8.4);
  {
    auto readings = Readings::open(files.readings, boot.now.wall);
    ASSERT_TRUE(readings && readings->thin_out(kTen, {.fine = 24h}));
  }
  std::vector<RecordedReading> rows;
  ASSERT_TRUE(read_readings(files, {"reef", kTen - 72h, kTen},
                            [&](const auto& row) { rows.push_back(row); }));
  ASSERT_EQ(rows.size(), 5U);
  EXPECT_TRUE(rows[0].mean);
  EXPECT_EQ(rows[0].ph_low, 8.0);
  EXPECT_FALSE(rows[2].mean);
  EXPECT_EQ(rows[2].ph, 8.4);
  EXPECT_FALSE(rows[2].ph_low);
  rows.clear();
  ASSERT_TRUE(read_readings(files, {"reef", kTen - 1h, kTen - 1h + 10s},
                            [&](const auto& row) { rows.push_back(row); }));
  EXPECT_EQ(rows.size(), 1U) << "its end is not of a span";
}

TEST_F(BesideTest, what_is_not_there_is_an_error_and_is_not_begun) {
  EXPECT_FALSE(read_standing(path, "reef"));
  EXPECT_FALSE(read_volumes(files, {"reef", kTen - 1h, kTen}, [](const auto&) {}));
  EXPECT_TRUE(std::filesystem::is_empty(folder));
}

}  // namespace
}  // namespace limegate::journal
