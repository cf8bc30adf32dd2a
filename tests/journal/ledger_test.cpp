#include "journal/ledger.h"

#include <filesystem>

#include <gtest/gtest.h>
#include <sqlite3.h>

#include "support/program.h"

namespace limegate::journal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using station::Fate;

constexpr WallTime kNoon{Duration{1'772'366'400s}};  // 2026-03-01 12:00 UTC, a date of our own

class LedgerTest : public testing::Test {
 protected:
  LedgerTest() { EXPECT_TRUE(Ledger::prepare(path_, {"reef"}, boot_).has_value()); }

  Ledger open(const std::vector<std::string>& stations = {"reef"}) {
    auto ledger = Ledger::open(path_, stations, boot_);
    EXPECT_TRUE(ledger.has_value()) << ledger.error().detail;
    return std::move(*ledger);
  }
  [[nodiscard]] dosing::Stamp stamp(const Ledger& ledger) const {
    return {boot_.now.mono.time_since_epoch() + ledger.lifetime_before_boot(), boot_.now.wall};
  }
  void pass(Duration duration) {
    boot_.now.mono += duration;
    boot_.now.wall += duration;
  }
  void reboot(const std::string& id) {
    boot_.id = id;
    boot_.now.mono = Instant{20s};
  }
  /// Appends a pulse decided now whose end is bounded by 35 s later.
  static station::PulseRecord pulse(std::int64_t id, Millilitres volume, dosing::Stamp at) {
    return {id, volume, 30s, at, {at.lifetime + 35s, at.wall + 35s}};
  }
  Millilitres given_day(const Ledger& ledger, const std::string& station = "reef") {
    const auto history = ledger.history(station, boot_);
    EXPECT_TRUE(history.has_value());
    Millilitres sum;
    for (const dosing::Dose& dose : history->doses) {
      sum += dose.volume;
    }
    return sum;
  }
  void sql(const std::string& text) {
    sqlite3* db = nullptr;
    ASSERT_EQ(sqlite3_open(path_.c_str(), &db), SQLITE_OK);
    ASSERT_EQ(sqlite3_exec(db, text.c_str(), nullptr, nullptr, nullptr), SQLITE_OK)
        << sqlite3_errmsg(db);
    sqlite3_close(db);
  }

  test::TempDir folder_;
  std::string path_ = folder_.path() + "/ledger.db";
  Boot boot_{"boot-1", {Instant{1h}, kNoon}};
};

TEST_F(LedgerTest, an_open_pulse_counts_in_full_and_a_closed_one_as_it_was_closed) {
  {
    Ledger ledger = open();
    for (std::int64_t id = 1; id <= 3; ++id) {
      ASSERT_TRUE(ledger.append("reef", pulse(id, Millilitres{20.0}, stamp(ledger))).has_value());
    }
    ASSERT_TRUE(ledger.close_pulse("reef", 2, Fate::cut_short, Millilitres{7.5}).has_value());
    ASSERT_TRUE(ledger.close_pulse("reef", 3, Fate::not_given, Millilitres{0.0}).has_value());
  }
  const Ledger again = open();
  EXPECT_NEAR(given_day(again).count(), 27.5, 1e-9);
  EXPECT_EQ(again.history("reef", boot_)->newest_pulse_id, 3);
}

TEST_F(LedgerTest, a_volume_is_stored_rounded_up_to_the_microlitre) {
  Ledger ledger = open();
  ASSERT_TRUE(ledger.append("reef", pulse(1, Millilitres{10.0001}, stamp(ledger))).has_value());
  EXPECT_NEAR(given_day(ledger).count(), 10.001, 1e-9);
}

TEST_F(LedgerTest, a_dose_leaves_after_24_hours_counted_from_its_latest_end) {
  Ledger ledger = open();
  ASSERT_TRUE(ledger.append("reef", pulse(1, Millilitres{20.0}, stamp(ledger))).has_value());
  pass(24h + 35s - 1ms);
  EXPECT_EQ(given_day(ledger).count(), 20.0);
  pass(1ms);
  EXPECT_EQ(given_day(ledger).count(), 0.0);
}

TEST_F(LedgerTest, uptime_of_earlier_boots_counts_only_as_far_as_it_was_observed) {
  {
    Ledger ledger = open();
    ASSERT_TRUE(ledger.append("reef", pulse(1, Millilitres{20.0}, stamp(ledger))).has_value());
    pass(10h);
    ASSERT_TRUE(ledger.append("reef", pulse(2, Millilitres{5.0}, stamp(ledger))).has_value());
  }
  // The machine is off for three days, comes back without a clock, and is up for 13 h: 23 h of
  // uptime were observed since the first pulse, so it counts; after 14 h it does not.
  reboot("boot-2");
  boot_.now.wall += 72h;
  Ledger ledger = open();
  pass(13h);
  EXPECT_EQ(given_day(ledger).count(), 25.0);
  pass(1h + 15s);
  EXPECT_EQ(given_day(ledger).count(), 5.0);
}

TEST_F(LedgerTest, the_same_boot_opened_again_goes_on_with_the_same_uptime) {
  const Duration before = open().lifetime_before_boot();
  pass(5h);
  EXPECT_EQ(open().lifetime_before_boot(), before);
}

TEST_F(LedgerTest, a_closed_stir_of_this_boot_is_known_and_any_other_is_not) {
  {
    Ledger ledger = open();
    ASSERT_TRUE(ledger.append("reef", station::StirRecord{1, 15min, stamp(ledger)}).has_value());
    EXPECT_FALSE(ledger.history("reef", boot_)->last_stir.has_value()) << "it may run still";
    pass(15min);
    ASSERT_TRUE(ledger.close_stir("reef", 1, stamp(ledger)).has_value());
  }
  const Ledger again = open();
  const auto history = again.history("reef", boot_);
  ASSERT_TRUE(history->last_stir.has_value());
  EXPECT_GE(history->last_stir->end, boot_.now.mono) << "never earlier than it truly ended";
  EXPECT_LE(history->last_stir->end, boot_.now.mono + 1ms);
  reboot("boot-2");
  EXPECT_FALSE(open().history("reef", boot_)->last_stir.has_value());
}

TEST_F(LedgerTest, latches_stay_until_released) {
  {
    Ledger ledger = open();
    ASSERT_TRUE(ledger.latch("reef", "ph-second-ceiling", kNoon).has_value());
    ASSERT_TRUE(ledger.latch("reef", "ph-second-ceiling", kNoon).has_value());
  }
  Ledger ledger = open();
  EXPECT_EQ(ledger.history("reef", boot_)->latches, std::vector<std::string>{"ph-second-ceiling"});
  ASSERT_TRUE(ledger.release("reef", "ph-second-ceiling").has_value());
  EXPECT_TRUE(ledger.history("reef", boot_)->latches.empty());
}

TEST_F(LedgerTest, any_altered_column_of_a_row_counts_as_a_full_day_and_is_kept_on_record) {
  for (const char* column : {"volume_ul", "duration_ms", "reserved_lifetime_ms", "reserved_wall_ms",
                             "end_lifetime_ms", "end_wall_ms", "fate", "counted_ul", "checksum"}) {
    std::filesystem::remove(path_);
    ASSERT_TRUE(Ledger::prepare(path_, {"reef"}, boot_).has_value());
    {
      Ledger ledger = open();
      ASSERT_TRUE(ledger.append("reef", pulse(1, Millilitres{20.0}, stamp(ledger))).has_value());
    }
    sql(std::string{"UPDATE pulses SET "} + column + " = " + column + " + 1");
    const Ledger ledger = open();
    EXPECT_GE(given_day(ledger), kCountsAsFull) << column;
    ASSERT_FALSE(ledger.notes().empty()) << column;
    EXPECT_NE(ledger.notes().front().find("count as full"), std::string::npos);
    EXPECT_TRUE(open().notes().empty()) << "told once: " << column;
  }
}

TEST_F(LedgerTest, a_station_that_was_never_prepared_counts_as_full) {
  const Ledger ledger = open({"reef", "frags"});
  EXPECT_EQ(given_day(ledger, "reef").count(), 0.0);
  EXPECT_GE(given_day(ledger, "frags"), kCountsAsFull);
}

TEST_F(LedgerTest, prepare_adds_what_is_new_and_changes_nothing_else) {
  {
    Ledger ledger = open();
    ASSERT_TRUE(ledger.append("reef", pulse(1, Millilitres{20.0}, stamp(ledger))).has_value());
  }
  const auto added = Ledger::prepare(path_, {"reef", "frags"}, boot_);
  ASSERT_TRUE(added.has_value());
  EXPECT_EQ(*added, std::vector<std::string>{"frags"});
  const Ledger ledger = open({"reef", "frags"});
  EXPECT_EQ(given_day(ledger, "reef").count(), 20.0);
  EXPECT_EQ(given_day(ledger, "frags").count(), 0.0);
}

TEST_F(LedgerTest, a_file_that_is_no_ledger_is_kept_aside_and_the_day_counts_as_full) {
  test::write_file(path_, std::string(8192, 'x'));
  const Ledger ledger = open();
  EXPECT_GE(given_day(ledger), kCountsAsFull);
  int aside = 0;
  for (const auto& file : std::filesystem::directory_iterator(folder_.path())) {
    aside += file.path().string().find(".damaged-") != std::string::npos ? 1 : 0;
  }
  EXPECT_EQ(aside, 1) << "nothing is lost";
}

TEST_F(LedgerTest, a_newer_schema_is_refused_and_left_alone) {
  sql("PRAGMA user_version = 2");
  const auto ledger = Ledger::open(path_, {"reef"}, boot_);
  ASSERT_FALSE(ledger.has_value());
  EXPECT_EQ(ledger.error().fault, StorageFault::too_new);
}

TEST_F(LedgerTest, every_single_write_survives_a_copy_of_the_files_taken_right_after_it) {
  // What a power cut leaves behind is what the files hold after the synced write returned.
  Ledger ledger = open();
  for (std::int64_t id = 1; id <= 20; ++id) {
    ASSERT_TRUE(ledger.append("reef", pulse(id, Millilitres{5.0}, stamp(ledger))).has_value());
    const test::TempDir copy;
    for (const char* suffix : {"", "-wal"}) {
      std::filesystem::copy_file(path_ + suffix, copy.path() + "/ledger.db" + suffix);
    }
    auto other = Ledger::open(copy.path() + "/ledger.db", {"reef"}, boot_);
    ASSERT_TRUE(other.has_value());
    EXPECT_EQ(other->history("reef", boot_)->newest_pulse_id, id);
  }
}

}  // namespace
}  // namespace limegate::journal
