#include "journal/readings.h"

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
  EXPECT_FALSE(readings.append({row(kTen, 8.2, 25.0)}, events));
  EXPECT_EQ(number("SELECT count(*) FROM readings"), 0);
  tamper("ALTER TABLE elsewhere RENAME TO events");
  EXPECT_TRUE(readings.append({row(kTen, 8.2, 25.0)}, events));
  EXPECT_EQ(number("SELECT count(*) FROM readings"), 1);
}

TEST_F(ReadingsTest, what_is_old_becomes_ten_minute_means) {
  Readings readings = open();
  // First ten minutes: 8.100, 8.200, 8.330: mean 8.21, low 8.1, high 8.33; 25.0, 25.2, 25.4.
  // Second: 8.400 alone, and one that is missing.
  ASSERT_TRUE(readings.append({row(kTen, 8.1, 25.0), row(kTen + 5min, 8.2, 25.2),
                               row(kTen + 599s, 8.33, 25.4), row(kTen + 10min, 8.4, 24.0),
                               row(kTen + 11min, std::nullopt, 26.0), row(kTen + 20min, 8.5, 25.0)},
                              {}));
  Readings::Retention retention;
  retention.fine = 1h;
  ASSERT_TRUE(readings.thin_out(kTen + 1h + 20min, retention));
  EXPECT_EQ(number("SELECT count(*) FROM means"), 2);
  const std::string first = " FROM means WHERE at_s = " + std::to_string(490000LL * 3600);
  EXPECT_EQ(number("SELECT ph_low" + first), 8100);
  EXPECT_EQ(number("SELECT ph_mean" + first), 8210);
  EXPECT_EQ(number("SELECT ph_high" + first), 8330);
  EXPECT_EQ(number("SELECT temperature_mean" + first), 2520);
  EXPECT_EQ(number("SELECT rows" + first), 3);
  const std::string second = " FROM means WHERE at_s = " + std::to_string(490000LL * 3600 + 600);
  EXPECT_EQ(number("SELECT ph_mean" + second), 8400) << "a missing value is not a zero";
  EXPECT_EQ(number("SELECT temperature_mean" + second), 2500);
  EXPECT_EQ(number("SELECT count(*) FROM readings"), 1) << "the third ten minutes are not over";
}

TEST_F(ReadingsTest, ten_minutes_that_are_not_wholly_old_stay) {
  Readings readings = open();
  ASSERT_TRUE(readings.append({row(kTen, 8.1, 25.0), row(kTen + 9min, 8.2, 25.0)}, {}));
  Readings::Retention retention;
  retention.fine = 1h;
  ASSERT_TRUE(readings.thin_out(kTen + 1h + 10min - 1s, retention));
  EXPECT_EQ(number("SELECT count(*) FROM readings"), 2);
  ASSERT_TRUE(readings.thin_out(kTen + 1h + 10min, retention));
  EXPECT_EQ(number("SELECT count(*) FROM readings"), 0);
  EXPECT_EQ(number("SELECT ph_mean FROM means"), 8150);
}

TEST_F(ReadingsTest, stations_have_means_of_their_own) {
  Readings readings = open();
  ReadingRow other = row(kTen, 7.9, 20.0);
  other.station = "nano";
  ASSERT_TRUE(readings.append({row(kTen, 8.1, 25.0), other}, {}));
  ASSERT_TRUE(readings.thin_out(kTen + 24h * 15, {}));
  EXPECT_EQ(number("SELECT ph_mean FROM means WHERE station = 'nano'"), 7900);
  EXPECT_EQ(number("SELECT ph_mean FROM means WHERE station = 'reef'"), 8100);
}

TEST_F(ReadingsTest, means_and_events_go_when_their_time_is_over) {
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
  EXPECT_EQ(number("SELECT count(*) FROM means"), 1);
  ASSERT_TRUE(readings.thin_out(kTen + 24h + 1s, retention));
  EXPECT_EQ(number("SELECT count(*) FROM events"), 0);
  ASSERT_TRUE(readings.thin_out(kTen + 48h, retention));
  EXPECT_EQ(number("SELECT count(*) FROM means"), 1);
  ASSERT_TRUE(readings.thin_out(kTen + 48h + 1s, retention));
  EXPECT_EQ(number("SELECT count(*) FROM means"), 0);
}

TEST_F(ReadingsTest, rows_that_come_late_do_not_replace_a_mean_of_more) {
  Readings readings = open();
  Readings::Retention retention;
  retention.fine = 1h;
  ASSERT_TRUE(readings.append({row(kTen, 8.1, 25.0), row(kTen + 1min, 8.2, 25.0)}, {}));
  ASSERT_TRUE(readings.thin_out(kTen + 2h, retention));
  // The wall clock was set back for a moment, and a row falls into the same ten minutes.
  ASSERT_TRUE(readings.append({row(kTen + 2min, 8.9, 25.0)}, {}));
  ASSERT_TRUE(readings.thin_out(kTen + 2h, retention));
  EXPECT_EQ(number("SELECT rows FROM means"), 2);
  EXPECT_EQ(number("SELECT ph_mean FROM means"), 8150);
  EXPECT_EQ(number("SELECT count(*) FROM readings"), 0);
}

TEST_F(ReadingsTest, a_damaged_file_is_kept_and_begun_anew) {
  put("This is not a database, and long enough to be looked at as one.\n");
  ASSERT_TRUE(open().append({row(kTen, 8.1, 25.0)}, {}));
  EXPECT_EQ(kept_aside(), 1U);
  EXPECT_EQ(number("SELECT count(*) FROM readings"), 1);
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
