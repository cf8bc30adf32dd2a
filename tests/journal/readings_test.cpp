#include "journal/readings.h"

#include <filesystem>

#include <gtest/gtest.h>

#include "journal/scratch.h"

namespace limegate::journal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

class ReadingsTest : public Scratch {
 protected:
  ReadingsTest() { path = (folder / "readings.sqlite").string(); }

  static ReadingRow row(WallTime at, std::optional<double> ph, std::optional<double> temperature) {
    return {at, "reef", ph, temperature, ph ? "good" : "stale", "good", true};
  }
  [[nodiscard]] Readings open() const {
    auto readings = Readings::open(path, boot.now.wall);
    EXPECT_TRUE(readings) << readings.error().detail;
    return std::move(*readings);
  }
};

const WallTime kTen{490000h};  // a whole hour, so a whole ten minutes

TEST_F(ReadingsTest, a_batch_is_written_in_thousandths_and_hundredths) {
  Readings readings = open();
  ASSERT_TRUE(
      readings.append({row(kTen, 8.2344, 25.126), row(kTen + 1s, std::nullopt, -0.5)},
                      {{"reef", {kTen, station::Severity::alert, "dosing-stopped", "No."}}}));
  EXPECT_EQ(number("SELECT count(*) FROM readings"), 2);
  EXPECT_EQ(number("SELECT ph_thousandths FROM readings WHERE ph_quality = 'good'"), 8234);
  EXPECT_EQ(number("SELECT temperature_hundredths FROM readings WHERE ph_quality = 'good'"), 2513);
  EXPECT_EQ(number("SELECT ph_thousandths IS NULL FROM readings WHERE ph_quality = 'stale'"), 1)
      << "a missing value is missing";
  EXPECT_EQ(number("SELECT temperature_hundredths FROM readings WHERE ph_quality = 'stale'"), -50);
  EXPECT_EQ(number("SELECT at_s FROM readings LIMIT 1"), 490000LL * 3600);
  EXPECT_EQ(number("SELECT severity FROM events WHERE code = 'dosing-stopped'"), 2);
}

TEST_F(ReadingsTest, what_a_run_saw_is_there_for_the_next_one_in_this_boot_alone) {
  Readings readings = open();
  ReadingRow at_first = row(kTen, 8.2, 25.0);
  at_first.seen = {"boot-1", {{Instant{50h}, 8.2, 8.1}}};
  ASSERT_TRUE(readings.append({at_first}, {}));
  const auto before = readings.seen("reef", "boot-1");
  ASSERT_TRUE(before && *before);
  EXPECT_EQ((*before)->ph.at, Instant{50h});
  EXPECT_EQ((*before)->ph.lowest, 8.1);
  EXPECT_FALSE((*before)->left || (*before)->climb_at_rest || (*before)->risen);
  ReadingRow later = row(kTen + 1min, 8.3, 25.0);
  station::SeenBefore seen{{Instant{51h}, 8.3, 8.2}};
  seen.left = {Instant{50h + 59min}, Ph{8.29}, {PhChange{0.05}, PhChange{0.04}}};
  seen.climb_at_rest = {Instant{50h + 30min}, PhChange{-0.0}};
  seen.risen = seen.disagreed = true;
  later.seen = {"boot-1", seen};
  ASSERT_TRUE(readings.append({later}, {}));
  const auto after = readings.seen("reef", "boot-1");
  ASSERT_TRUE(after && *after && (*after)->left && (*after)->climb_at_rest);
  EXPECT_EQ((*after)->ph.value, 8.3);
  EXPECT_EQ((*after)->left->at, Instant{50h + 59min});
  EXPECT_EQ((*after)->left->value, Ph{8.29});
  EXPECT_EQ((*after)->left->residual.value, PhChange{0.05});
  EXPECT_EQ((*after)->left->residual.climb, PhChange{0.04});
  EXPECT_EQ((*after)->climb_at_rest->since, Instant{50h + 30min});
  EXPECT_TRUE((*after)->risen && (*after)->disagreed);
  EXPECT_FALSE(*readings.seen("reef", "boot-2"));
  EXPECT_FALSE(*readings.seen("frag", "boot-1"));
}

TEST_F(ReadingsTest, an_empty_batch_is_no_error) { EXPECT_TRUE(open().append({}, {})); }

TEST_F(ReadingsTest, a_batch_that_fails_leaves_nothing_behind_and_can_be_tried_again) {
  Readings readings = open();
  tamper("ALTER TABLE events RENAME TO elsewhere");
  const std::vector<std::pair<std::string, station::Event>> events{
      {"reef", {kTen, station::Severity::info, "held-paused", "Paused."}}};
  const ReadingRow one = row(kTen, 8.2, 25.0);
  EXPECT_FALSE(readings.append({one}, events));
  EXPECT_EQ(number("SELECT count(*) FROM readings"), 0);
  EXPECT_EQ(number("SELECT count(*) FROM levels"), 0);
  tamper("ALTER TABLE elsewhere RENAME TO events");
  EXPECT_TRUE(readings.append({one}, events));
  EXPECT_EQ(number("SELECT count(*) FROM readings"), 1);
  EXPECT_EQ(number("SELECT sum(ph_rows) FROM levels WHERE length = 60"), 1);
}

/// What one column says of a slot of so many seconds that begins so long after ten.
class LevelsTest : public ReadingsTest {
 protected:
  [[nodiscard]] std::int64_t level(const std::string& column, int length, int after = 0) const {
    return number("SELECT " + column + " FROM levels WHERE length = " + std::to_string(length) +
                  " AND at_s = " + std::to_string(490000LL * 3600 + after) +
                  " AND station = 'reef'");
  }
  /// Three minutes of one quarter of an hour, of which pH is missing in one row.
  [[nodiscard]] static std::vector<ReadingRow> rows() {
    return {row(kTen, 8.1, 25.0), row(kTen + 5min, 8.2, 25.2), row(kTen + 5min + 10s, 8.33, 25.4),
            row(kTen + 11min, std::nullopt, 26.0), row(kTen + 11min + 10s, 8.4, 24.0)};
  }
  void expect_sums_of_the_rows() const {
    EXPECT_EQ(level("ph_low", 60, 300), 8200);
    EXPECT_EQ(level("ph_sum", 60, 300), 8200 + 8330);
    EXPECT_EQ(level("ph_low", 600), 8100);
    EXPECT_EQ(level("ph_high", 600), 8330);
    EXPECT_EQ(level("ph_sum", 600), 8100 + 8200 + 8330);
    EXPECT_EQ(level("ph_rows", 600), 3);
    EXPECT_EQ(level("temperature_sum", 600), 2500 + 2520 + 2540);
    EXPECT_EQ(level("ph_rows", 600, 600), 1) << "a missing value is not a zero";
    EXPECT_EQ(level("ph_low", 600, 600), 8400);
    EXPECT_EQ(level("temperature_low", 600, 600), 2400);
    EXPECT_EQ(level("temperature_high", 600, 600), 2600);
    EXPECT_EQ(level("ph_rows", 7200), 4);
    EXPECT_EQ(level("ph_low", 7200), 8100);
    EXPECT_EQ(level("ph_high", 7200), 8400);
    EXPECT_EQ(level("temperature_rows", 7200), 5);
  }
};

TEST_F(LevelsTest, each_row_is_summed_up_as_it_is_written) {
  Readings readings = open();
  for (const ReadingRow& one : rows()) {
    ASSERT_TRUE(readings.append({one}, {}));
  }
  expect_sums_of_the_rows();
  EXPECT_EQ(number("SELECT count(*) FROM levels"), 3 + 2 + 1);
}

TEST_F(LevelsTest, a_record_of_an_older_version_is_summed_up_once) {
  ASSERT_TRUE(open().append(rows(), {}));
  // As version 0.1 had it: means of what is older than 14 days, and rows.
  tamper(
      "DROP TRIGGER levels_kept; DROP TABLE levels; DROP TABLE rows_left; "
      "CREATE TABLE means(at_s INTEGER, station TEXT, ph_low INTEGER, ph_mean INTEGER, ph_high "
      "INTEGER, temperature_mean INTEGER, rows INTEGER, PRIMARY KEY(at_s, station)) WITHOUT ROWID; "
      "INSERT INTO means VALUES(1762740000, 'reef', 8000, 8050, 8070, 2490, 60); "
      "INSERT INTO means VALUES(1762740600, 'reef', NULL, NULL, NULL, 2480, 40)");
  {
    Readings readings = open();
    EXPECT_EQ(number("SELECT count(*) FROM levels"), 0) << "no start waits for it";
    ASSERT_TRUE(readings.append({}, {}));
    ASSERT_TRUE(readings.thin_out(kTen + 24h * 365, {}));
    EXPECT_EQ(number("SELECT count(*) FROM readings"), 5) << "they are not all summed up";
  }
  expect_sums_of_the_rows();
  for (int times = 0; times < 4; ++times) {
    ASSERT_TRUE(open().append({}, {}));
  }
  expect_sums_of_the_rows();
  const int before = 1762740000 - 490000 * 3600;
  EXPECT_EQ(level("ph_rows", 600, before), 60);
  EXPECT_EQ(level("ph_sum", 600, before), 60 * 8050);
  EXPECT_EQ(level("ph_rows", 600, before + 600), 0);
  EXPECT_EQ(level("temperature_sum", 600, before + 600), 40 * 2480);
  EXPECT_EQ(level("temperature_low IS NULL", 600, before), 1) << "a mean is not the lowest";
  EXPECT_EQ(level("ph_low", 7200, before), 8000);
  EXPECT_EQ(level("temperature_rows", 7200, before), 100);
  EXPECT_EQ(number("SELECT count(*) FROM sqlite_master WHERE name = 'means'"), 0);
  EXPECT_EQ(kept_aside(), 0U);
}

TEST_F(LevelsTest, means_of_another_shape_are_kept_aside) {
  ASSERT_TRUE(open().append({row(kTen, 8.1, 25.0)}, {}));
  tamper(
      "DROP TRIGGER levels_kept; DROP TABLE levels; DROP TABLE rows_left; "
      "CREATE TABLE means(at INTEGER, ph REAL)");
  ASSERT_TRUE(open().append({row(kTen, 8.1, 25.0)}, {}));
  EXPECT_EQ(kept_aside(), 1U);
}

// Five thousand rows, which are more than two parts: whatever the program died between.
TEST_F(LevelsTest, a_long_record_of_an_older_version_is_summed_up_part_by_part) {
  std::vector<ReadingRow> many;
  many.reserve(5000);
  for (int i = 0; i < 5000; ++i) {
    many.push_back(row(kTen + std::chrono::seconds{10 * i}, 8.1, 25.0));
  }
  ASSERT_TRUE(open().append(many, {}));
  tamper("DROP TRIGGER levels_kept; DROP TABLE levels; DROP TABLE rows_left");
  const auto summed = [&] {
    return number("SELECT total(ph_rows) FROM levels WHERE length = 600");
  };
  for (const int rows : {2001, 4002, 5003}) {
    ASSERT_TRUE(open().append({row(kTen + 24h * 100, 8.1, 25.0)}, {}));
    EXPECT_EQ(summed(), rows);
  }
  Readings readings = open();
  ASSERT_TRUE(readings.append({}, {}));
  EXPECT_EQ(summed(), 5003) << "each row once";
  EXPECT_EQ(number("SELECT total(ph_sum) FROM levels WHERE length = 7200"), 5003LL * 8100);
  ASSERT_TRUE(readings.thin_out(kTen + 24h * 30, {}));
  EXPECT_EQ(number("SELECT count(*) FROM readings"), 3);
}

// After going back by one version and forth again.
TEST_F(LevelsTest, rows_of_an_older_version_are_summed_up_too) {
  (void)open();
  tamper(
      "INSERT INTO readings VALUES(1764000000, 'reef', 8100, 2500, 'good', 'good', 1); "
      "CREATE TABLE means(at_s INTEGER, station TEXT, ph_low INTEGER, ph_mean INTEGER, ph_high "
      "INTEGER, temperature_mean INTEGER, rows INTEGER, PRIMARY KEY(at_s, station)) WITHOUT ROWID; "
      "INSERT INTO means VALUES(1764000000, 'reef', 8100, 8100, 8100, 2500, 1)");
  (void)open();
  EXPECT_EQ(level("ph_rows", 600), 1);
  EXPECT_EQ(number("SELECT count(*) FROM sqlite_master WHERE name = 'means'"), 0);
}

TEST_F(LevelsTest, the_rows_go_with_their_minutes_and_the_rest_stays) {
  Readings readings = open();
  ASSERT_TRUE(readings.append({row(kTen, 8.1, 25.0), row(kTen + 9min, 8.2, 25.0)}, {}));
  Readings::Retention retention;
  retention.fine = 1h;
  ASSERT_TRUE(readings.thin_out(kTen + 1h + 10min - 1s, retention));
  EXPECT_EQ(number("SELECT count(*) FROM readings"), 2) << "these ten minutes are not wholly old";
  ASSERT_TRUE(readings.thin_out(kTen + 1h + 10min, retention));
  EXPECT_EQ(number("SELECT count(*) FROM readings"), 0);
  EXPECT_EQ(number("SELECT count(*) FROM levels"), 2);
  EXPECT_EQ(level("ph_sum / ph_rows", 600), 8150);
  EXPECT_EQ(level("ph_sum / ph_rows", 7200), 8150);
}

TEST_F(LevelsTest, stations_have_sums_of_their_own) {
  Readings readings = open();
  ReadingRow other = row(kTen, 7.9, 20.0);
  other.station = "nano";
  ASSERT_TRUE(readings.append({row(kTen, 8.1, 25.0), other}, {}));
  EXPECT_EQ(level("ph_low", 600), 8100);
  EXPECT_EQ(number("SELECT ph_low FROM levels WHERE length = 600 AND station = 'nano'"), 7900);
}

TEST_F(LevelsTest, sums_and_events_go_when_their_time_is_over) {
  Readings readings = open();
  ASSERT_TRUE(
      readings.append({row(kTen, 8.1, 25.0)},
                      {{"reef", {kTen, station::Severity::info, "held-paused", "Paused."}}}));
  Readings::Retention retention;
  retention.fine = 1h;
  retention.coarse = 48h;
  retention.events = 24h;
  ASSERT_TRUE(readings.thin_out(kTen + 24h, retention));
  EXPECT_EQ(number("SELECT count(*) FROM events"), 1);
  ASSERT_TRUE(readings.thin_out(kTen + 24h + 1s, retention));
  EXPECT_EQ(number("SELECT count(*) FROM events"), 0);
  ASSERT_TRUE(readings.thin_out(kTen + 48h, retention));
  EXPECT_EQ(number("SELECT count(*) FROM levels"), 2);
  ASSERT_TRUE(readings.thin_out(kTen + 48h + 1s, retention));
  EXPECT_EQ(number("SELECT count(*) FROM levels"), 0);
}

TEST_F(LevelsTest, rows_that_come_late_are_added) {
  Readings readings = open();
  Readings::Retention retention;
  retention.fine = 1h;
  ASSERT_TRUE(readings.append({row(kTen, 8.1, 25.0), row(kTen + 1min, 8.2, 25.0)}, {}));
  ASSERT_TRUE(readings.thin_out(kTen + 2h, retention));
  // The wall clock was set back for a moment, and a row falls into the same ten minutes.
  ASSERT_TRUE(readings.append({row(kTen + 2min, 8.3, 25.0)}, {}));
  ASSERT_TRUE(readings.thin_out(kTen + 2h, retention));
  EXPECT_EQ(level("ph_rows", 600), 3);
  EXPECT_EQ(level("ph_sum / ph_rows", 600), 8200);
  EXPECT_EQ(number("SELECT count(*) FROM readings"), 0);
}

TEST_F(ReadingsTest, a_damaged_file_is_kept_and_begun_anew) {
  put("This is not a database, and long enough to be looked at as one.\n");
  {
    Readings readings = open();
    EXPECT_TRUE(std::filesystem::exists(readings.set_aside_as())) << "it is told";
    ASSERT_TRUE(readings.append({row(kTen, 8.1, 25.0)}, {}));
  }
  EXPECT_EQ(kept_aside(), 1U);
  EXPECT_EQ(number("SELECT count(*) FROM readings"), 1);
  EXPECT_EQ(open().set_aside_as(), "");
}

TEST_F(ReadingsTest, of_inputs_are_written_when_they_change_and_each_ten_minutes) {
  Readings readings = open();
  const auto write = [&](WallTime at, double sump) {
    ReadingRow one = row(at, 8.1, 25.0);
    one.more = {{"second-ph", 8.2}, {"sump", sump}};
    ASSERT_TRUE(readings.append({one}, {}));
  };
  for (int second = 0; second < 1000; second += 10) {
    write(kTen + std::chrono::seconds{second}, second < 300 ? 12.5 : 13.0);
  }
  EXPECT_EQ(number("SELECT count(*) FROM inputs WHERE input = 'second-ph'"), 2);
  EXPECT_EQ(number("SELECT count(*) FROM inputs WHERE input = 'sump'"), 3);
  EXPECT_EQ(number("SELECT value * 10 FROM inputs WHERE input = 'sump' ORDER BY at_s DESC"), 130);
  Readings::Retention retention;
  retention.fine = 1h;
  ASSERT_TRUE(readings.thin_out(kTen + 4h, retention));
  EXPECT_EQ(number("SELECT count(*) FROM inputs WHERE input = 'sump'"), 2)
      << "one each ten minutes";
}

// Versions before 9 of the ledger kept them here.
TEST_F(ReadingsTest, alerts_that_nobody_had_seen_are_taken_once) {
  (void)open();
  (void)number(
      "INSERT INTO unseen VALUES('reef', 'pump-found-on', 'It was on.', 1800000000000) "
      "RETURNING 1");
  const auto taken = open().take_unseen();
  ASSERT_TRUE(taken);
  ASSERT_EQ(taken->size(), 1U);
  EXPECT_EQ(taken->front().first, "reef");
  EXPECT_EQ(taken->front().second.code, "pump-found-on");
  EXPECT_EQ(taken->front().second.sentence, "It was on.");
  EXPECT_EQ(taken->front().second.severity, station::Severity::alert);
  EXPECT_EQ(taken->front().second.begins, "") << "until somebody has seen it";
  EXPECT_TRUE(open().take_unseen()->empty());
}

TEST_F(ReadingsTest, what_a_run_saw_has_another_shape_and_is_begun_anew) {
  ASSERT_TRUE(open().append({row(kTen, 8.1, 25.0)}, {}));
  tamper("DROP TABLE seen; CREATE TABLE seen(station TEXT PRIMARY KEY, ph REAL) WITHOUT ROWID");
  ReadingRow next = row(kTen + 1s, 8.1, 25.0);
  next.seen = {"boot-1", {{Instant{50h}, 8.2, 8.1}}};
  Readings readings = open();
  ASSERT_TRUE(readings.append({next}, {}));
  EXPECT_TRUE(*readings.seen("reef", "boot-1"));
  EXPECT_EQ(kept_aside(), 0U);
  EXPECT_EQ(number("SELECT count(*) FROM readings"), 2) << "the rest of the file is as it was";
}

TEST_F(ReadingsTest, a_table_of_another_shape_is_kept_aside_and_begun_anew) {
  ASSERT_TRUE(open().append({row(kTen, 8.1, 25.0)}, {}));
  tamper("DROP TABLE readings; CREATE TABLE readings(at INTEGER, ph REAL)");
  ASSERT_TRUE(open().append({row(kTen, 8.1, 25.0)}, {}));
  EXPECT_EQ(kept_aside(), 1U);
  EXPECT_EQ(number("SELECT count(*) FROM readings"), 1);
}

TEST_F(ReadingsTest, what_was_written_is_there_after_opening_again) {
  ASSERT_TRUE(open().append({row(kTen, 8.1, 25.0)}, {}));
  ASSERT_TRUE(open().append({row(kTen + 1s, 8.1, 25.0)}, {}));
  EXPECT_EQ(number("SELECT count(*) FROM readings"), 2);
}

}  // namespace
}  // namespace limegate::journal
