// What becomes of rows that no start needs any more: moved, and summed up after 90 days, without
// anything being counted less or twice.

#include "journal/past.h"

#include <csignal>
#include <sstream>
#include <thread>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/wait.h>
#include <unistd.h>

#include "journal/scratch.h"

namespace limegate::journal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using station::Fate;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

constexpr Duration kDay = 24h;
/// Of a pulse as `pulse` makes it: from its begin to its end.
constexpr Duration kUntilEnd = 48s;

class PastTest : public Scratch {
 protected:
  PastTest() { boot.now.wall = WallTime{kDay * 20000}; }

  void give(Ledger& ledger, std::int64_t id, double volume = 30.0) const {
    ASSERT_TRUE(ledger.append("reef", pulse(ledger, id, volume)));
    ASSERT_TRUE(ledger.close_pulse("reef", id, Fate::given, Millilitres{volume}));
  }
  void stir(Ledger& ledger, std::int64_t id) {
    ASSERT_TRUE(ledger.append("reef", station::StirRecord{id, 15min, stamp(ledger)}));
    later(15min);
    ASSERT_TRUE(ledger.close_stir("reef", id, stamp(ledger)));
  }
  /// So many pulses, one an hour, and a stir before every fourth.
  void dose(Ledger& ledger, std::int64_t pulses) {
    for (std::int64_t id = 1; id <= pulses; ++id) {
      if (id % 4 == 1) {
        stir(ledger, id / 4 + 1);
        later(-15min);
      }
      later(1h);
      give(ledger, id);
    }
  }
  /// Steps until nothing is left to do, and how many did something.
  [[nodiscard]] int tidy(const Ledger& ledger) const {
    int steps = 0;
    for (;;) {
      const auto left = ledger.tidy(boot.now);
      EXPECT_TRUE(left) << left.error().detail;
      if (!left || *left == Left::nothing) {
        return steps;
      }
      ++steps;
    }
  }
  [[nodiscard]] std::string ids(const std::string& table) const {
    const auto database = Database::open(path, Creating::no, Sync::normal);
    const auto rows = database->prepare("SELECT id FROM " + table + " ORDER BY id");
    std::string ids;
    for (auto more = rows->next(); more && *more; more = rows->next()) {
      ids += (ids.empty() ? "" : " ") + std::to_string(rows->integer(0));
    }
    return ids;
  }
  [[nodiscard]] std::int64_t rows(const std::string& table) const {
    return number("SELECT count(*) FROM " + table);
  }
  /// All that is counted of pulses, wherever it stands.
  [[nodiscard]] std::int64_t counted() const {
    return number(
        "SELECT (SELECT coalesce(sum(counted_ul), 0) FROM pulses) + (SELECT "
        "coalesce(sum(counted_ul), 0) FROM past_pulses) + (SELECT coalesce(sum(volume_ul + "
        "found_ul), 0) FROM days)");
  }
  [[nodiscard]] static std::string text(const station::History& read) {
    std::ostringstream out;
    for (const dosing::Dose& dose : read.doses) {
      out << dose.id << ' ' << dose.end.lifetime.count() << ' ' << dose.volume.count() << '\n';
    }
    const auto at = [&](const auto& maybe, const auto& count) {
      out << (maybe ? count(*maybe) : -1) << ' ';
    };
    at(read.newest_given, [](const dosing::Stamp& given) { return given.lifetime.count(); });
    at(read.open_pulse, [](const station::PulseRecord& open) { return open.id; });
    at(read.dosed_since_stir, [](Duration since) { return since.count(); });
    at(read.last_stir, [](const auto& last) { return last.end.time_since_epoch().count(); });
    at(read.newest_reserved, [](Instant when) { return when.time_since_epoch().count(); });
    out << read.newest_pulse_id << ' ' << read.newest_end.count() << ' ' << read.newest_stir_id
        << ' ' << read.lifetime_before_boot.count();
    return out.str();
  }
};

TEST_F(PastTest, takes_what_is_two_days_old_and_a_start_reads_the_same) {
  {
    Ledger ledger = prepared();
    dose(ledger, 100);
    later(30min);
    const std::string before = text(history(ledger));
    EXPECT_EQ(tidy(ledger), 2) << "pulses, and stirs";
    EXPECT_EQ(text(history(ledger)), before);
    EXPECT_EQ(rows("pulses"), 48);
    EXPECT_EQ(rows("past_pulses"), 52);
    EXPECT_EQ(rows("stirs"), 11);
    EXPECT_EQ(rows("past_stirs"), 14);
    EXPECT_EQ(text(history(opened())), before);
  }
  EXPECT_THAT(opened().notes(), IsEmpty()) << "no number is missing";
  reboot("boot-2");
  EXPECT_EQ(history(opened()).newest_pulse_id, 100);
  EXPECT_EQ(history(opened()).doses.size(), 25U) << "the oldest began a day ago, and ended later";
  EXPECT_THAT(opened().notes(), IsEmpty());
}

TEST_F(PastTest, still_finds_a_number_that_is_missing_today) {
  {
    Ledger ledger = prepared();
    dose(ledger, 100);
    (void)tidy(ledger);
  }
  tamper("DELETE FROM pulses WHERE id = 97");
  EXPECT_TRUE(full(history(opened())));
}

TEST_F(PastTest, takes_a_row_no_millisecond_before_it_is_two_days_old) {
  Ledger ledger = prepared();
  give(ledger, 1);
  stir(ledger, 1);
  later(-15min);
  later(1h);
  give(ledger, 2);
  stir(ledger, 2);
  later(48h - 75min + kUntilEnd - 1ms);
  (void)tidy(ledger);
  EXPECT_EQ(ids("past_pulses"), "");
  later(1ms);
  (void)tidy(ledger);
  EXPECT_EQ(ids("past_pulses"), "1");
  EXPECT_EQ(ids("pulses"), "2");
  EXPECT_EQ(ids("past_stirs"), "") << "a stir of 15 min ended a quarter of an hour later";
  later(15min);
  (void)tidy(ledger);
  EXPECT_EQ(ids("past_stirs"), "1");
}

TEST_F(PastTest, leaves_what_a_start_needs_however_old_it_is) {
  Ledger ledger = prepared();
  ASSERT_TRUE(ledger.append("reef", pulse(ledger, 1)));  // never closed
  ASSERT_TRUE(ledger.append("reef", station::StirRecord{1, 15min, stamp(ledger)}));
  give(ledger, 2);
  later(1min);
  give(ledger, 3);  // the newest that was given
  for (const std::int64_t id : {4, 5}) {
    later(1min);
    ASSERT_TRUE(ledger.append("reef", pulse(ledger, id)));
    ASSERT_TRUE(ledger.close_pulse("reef", id, Fate::not_given, Millilitres{0.0}));
  }
  stir(ledger, 2);
  stir(ledger, 3);
  ASSERT_TRUE(ledger.presume_full("reef", "A test.", boot.now));
  later(kDay * 400);
  const std::string before = text(history(ledger));
  (void)tidy(ledger);
  EXPECT_EQ(ids("pulses"), "-1 1 3 5");
  EXPECT_EQ(ids("stirs"), "1 3");
  EXPECT_EQ(rows("past_pulses") + rows("past_stirs"), 0);
  EXPECT_EQ(number("SELECT pulses FROM days"), 1);
  EXPECT_EQ(number("SELECT stirs FROM days"), 1);
  EXPECT_EQ(text(history(ledger)), before);
  EXPECT_EQ(text(history(opened())), before);
  give(ledger, 6);
  (void)tidy(ledger);
  EXPECT_EQ(ids("pulses"), "-1 1 6") << "the newest, and the newest given, is another now";
  EXPECT_THAT(opened().notes(), IsEmpty()) << "no number between is missing";
}

TEST_F(PastTest, goes_by_observed_uptime_and_by_no_wall_clock) {
  {
    Ledger ledger = prepared();
    dose(ledger, 20);
    boot.now.wall += kDay * 3653;
    EXPECT_EQ(tidy(ledger), 0) << "a clock ten years ahead";
  }
  boot.now.wall -= kDay * 3653;
  reboot("boot-2", kDay * 3653);
  EXPECT_EQ(tidy(opened()), 0) << "ten years in which nobody saw the machine run";
  boot.now.wall = WallTime{};
  boot.now.mono += kDay * 3;
  EXPECT_GT(tidy(opened()), 0) << "a clock that was never set holds nothing up";
}

TEST_F(PastTest, of_years_that_are_not_summed_up_no_start_reads_the_whole) {
  Ledger ledger = prepared();
  give(ledger, 1, 20.0);
  const auto fill = [&](int rows) {
    const auto database = Database::open(path, Creating::no, Sync::normal);
    ASSERT_TRUE(database->execute(
        ("WITH RECURSIVE n(id) AS (SELECT 10 UNION ALL SELECT id + 1 FROM n LIMIT " +
         std::to_string(rows) +
         ") INSERT OR IGNORE INTO past_pulses(station, id, fate, counted_ul) SELECT 'reef', id, " +
         std::to_string(static_cast<int>(Fate::given)) + ", 1000 FROM n")
            .c_str()));
  };
  fill(107'999);
  EXPECT_DOUBLE_EQ(history(ledger).given_in_all->count(), 20.0 + 107'999.0);
  fill(108'000);
  EXPECT_EQ(history(ledger).given_in_all, std::nullopt);
}

TEST_F(PastTest, becomes_a_row_a_day_after_ninety_days) {
  Ledger ledger = prepared();
  boot.now.wall = WallTime{kDay * 20000 + 23h};
  give(ledger, 1, 20.0);
  ASSERT_TRUE(ledger.append("reef", pulse(ledger, 2)));
  ASSERT_TRUE(ledger.close_pulse("reef", 2, Fate::cut_short, Millilitres{7.5}));
  ASSERT_TRUE(ledger.append("reef", pulse(ledger, 3)));
  ASSERT_TRUE(ledger.close_pulse("reef", 3, Fate::not_given, Millilitres{0.0}));
  ASSERT_TRUE(ledger.append("reef", pulse(ledger, 4, 11.0)));
  ASSERT_TRUE(ledger.close_pulse("reef", 4, Fate::found, Millilitres{11.0}));
  stir(ledger, 1);
  later(1h);
  give(ledger, 5, 40.0);  // after midnight
  stir(ledger, 2);
  give(ledger, 6);
  stir(ledger, 3);
  // What flowed by pulses that are over, wherever their rows are: 20 + 7.5 + 40 + 30 mL.
  const auto in_all = [&] { return history(ledger).given_in_all->count(); };
  EXPECT_DOUBLE_EQ(in_all(), 97.5);
  later(kRowsKept - 2h);
  (void)tidy(ledger);
  EXPECT_DOUBLE_EQ(in_all(), 97.5);
  EXPECT_EQ(ids("past_pulses"), "1 2 3 4 5");
  EXPECT_EQ(rows("days"), 0);
  later(2h);
  (void)tidy(ledger);
  EXPECT_EQ(rows("past_pulses"), 0);
  EXPECT_EQ(rows("past_stirs"), 0);
  const auto day = [&](int which, const std::string& what) {
    return number("SELECT " + what + " FROM days WHERE day = " + std::to_string(which));
  };
  EXPECT_EQ(rows("days"), 2);
  EXPECT_DOUBLE_EQ(in_all(), 97.5);
  EXPECT_EQ(day(20000, "pulses"), 2);
  EXPECT_EQ(day(20000, "volume_ul"), 27500);
  EXPECT_EQ(day(20000, "found_ul"), 11000);
  EXPECT_EQ(day(20000, "stirs"), 1);
  EXPECT_EQ(day(20000, "unreadable"), 0);
  EXPECT_EQ(day(20001, "pulses"), 1);
  EXPECT_EQ(day(20001, "volume_ul"), 40000);
  EXPECT_EQ(day(20001, "stirs"), 1);
}

TEST_F(PastTest, sums_a_row_up_no_millisecond_before_it_is_ninety_days_old) {
  Ledger ledger = prepared();
  give(ledger, 1);
  give(ledger, 2);
  later(kRowsKept + kUntilEnd - 1ms);
  (void)tidy(ledger);
  EXPECT_EQ(ids("past_pulses"), "1");
  later(1ms);
  (void)tidy(ledger);
  EXPECT_EQ(ids("past_pulses"), "");
  EXPECT_EQ(number("SELECT pulses FROM days"), 1);
}

TEST_F(PastTest, knows_days_before_1970) {
  Ledger ledger = prepared();
  boot.now.wall = WallTime{-1h};
  give(ledger, 1);
  give(ledger, 2);
  later(kRowsKept + 1h);
  (void)tidy(ledger);
  EXPECT_EQ(number("SELECT day FROM days"), -1);
}

TEST_F(PastTest, takes_few_rows_at_once_and_a_long_day_in_parts) {
  const auto many = static_cast<std::int64_t>(kRowsAtOnce) * 2 + 10;
  Ledger ledger = prepared();
  ASSERT_TRUE(Ledger::prepare(path, {"nano"}, boot));
  for (std::int64_t id = 1; id <= many + 1; ++id) {
    give(ledger, id, 1.0);
  }
  ASSERT_TRUE(ledger.append("nano", pulse(ledger, 1)));
  later(kRowsKept + 1h);
  const std::int64_t all = counted();
  std::int64_t before = 0;
  for (int step = 1; step <= 3; ++step) {
    EXPECT_EQ(*ledger.tidy(boot.now), Left::more);
    EXPECT_LE(rows("past_pulses") - before, static_cast<std::int64_t>(kRowsAtOnce));
    before = rows("past_pulses");
    EXPECT_EQ(counted(), all);
  }
  EXPECT_EQ(before, many);
  for (int step = 1; step <= 3; ++step) {
    EXPECT_EQ(*ledger.tidy(boot.now), Left::more);
    EXPECT_LE(before - rows("past_pulses"), static_cast<std::int64_t>(kRowsAtOnce));
    before = rows("past_pulses");
    EXPECT_EQ(counted(), all);
  }
  EXPECT_EQ(*ledger.tidy(boot.now), Left::nothing);
  EXPECT_EQ(number("SELECT pulses FROM days"), many);
  EXPECT_EQ(rows("days"), 1);
}

TEST_F(PastTest, step_that_fails_between_leaves_everything_as_it_was) {
  Ledger ledger = prepared();
  dose(ledger, 10);
  for (const char* table : {"pulses", "past_pulses"}) {
    later(kRowsKept);
    tamper(std::string{"CREATE TRIGGER fails BEFORE DELETE ON "} + table +
           " WHEN old.id = 7 BEGIN SELECT RAISE(ABORT, 'no'); END");
    const std::int64_t all = counted();
    const std::string now = ids("pulses"), past = ids("past_pulses");
    EXPECT_FALSE(ledger.tidy(boot.now)) << table;
    EXPECT_EQ(counted(), all);
    EXPECT_EQ(ids("pulses"), now);
    EXPECT_EQ(ids("past_pulses"), past);
    EXPECT_EQ(rows("days"), 0);
    EXPECT_EQ(number("SELECT whole_to FROM stations"), table == std::string{"pulses"} ? 0 : 9);
    tamper("DROP TRIGGER fails");
    EXPECT_EQ(*ledger.tidy(boot.now), Left::more) << "the ledger can still be written";
    (void)(table == std::string{"pulses"} ? *ledger.tidy(boot.now) : Left::nothing);  // the stirs
  }
  (void)tidy(ledger);
  EXPECT_EQ(number("SELECT pulses FROM days"), 9);
}

TEST_F(PastTest, killed_at_any_moment_nothing_is_lost_or_doubled) {
  {
    Ledger ledger = prepared();
    for (std::int64_t id = 1; id <= 2500; ++id) {
      give(ledger, id, 1.0);
    }
  }
  later(kRowsKept + 1h);
  const std::int64_t all = counted();
  int killed = 0;
  for (int round = 0; round < 60; ++round) {
    const pid_t child = fork();
    ASSERT_GE(child, 0);
    if (child == 0) {
      const auto ledger = Ledger::open(path, {{"reef", copy}}, boot);
      while (ledger && ledger->tidy(boot.now) == Left::more) {
      }
      _exit(0);
    }
    std::this_thread::sleep_for(std::chrono::microseconds{(round % 20) * 2500});
    ASSERT_EQ(kill(child, SIGKILL), 0);
    int status = 0;
    ASSERT_EQ(waitpid(child, &status, 0), child);
    killed += WIFSIGNALED(status) ? 1 : 0;
    ASSERT_EQ(counted(), all) << "after kill " << round;
    ASSERT_EQ(
        number("SELECT coalesce(sum(pulses), 0) FROM days") + rows("pulses") + rows("past_pulses"),
        2500);
  }
  EXPECT_GT(killed, 5) << "else this shows nothing";
  const Ledger ledger = opened();
  EXPECT_THAT(ledger.notes(), IsEmpty());
  (void)tidy(ledger);
  EXPECT_EQ(counted(), all);
  EXPECT_EQ(history(ledger).newest_pulse_id, 2500);
}

TEST_F(PastTest, a_row_that_was_damaged_meanwhile_is_not_moved_and_the_next_start_finds_it) {
  Ledger ledger = prepared();
  dose(ledger, 60);
  tamper("UPDATE pulses SET counted_ul = 0 WHERE id = 3");
  (void)tidy(ledger);
  EXPECT_EQ(ids("past_pulses"), "1 2");
  EXPECT_TRUE(full(history(opened())));
}

TEST_F(PastTest, is_read_by_no_start) {
  {
    Ledger ledger = prepared();
    dose(ledger, 60);
    (void)tidy(ledger);
  }
  tamper("UPDATE past_pulses SET counted_ul = 7");
  EXPECT_THAT(opened().notes(), IsEmpty());
  EXPECT_FALSE(full(history(opened()))) << "it is of days that are over";
}

TEST_F(PastTest, a_damaged_row_in_it_is_in_no_sum_and_the_sum_says_so) {
  Ledger ledger = prepared();
  for (std::int64_t id = 1; id <= 5; ++id) {
    give(ledger, id, 10.0);
  }
  later(48h + 1h);
  (void)tidy(ledger);
  tamper("UPDATE past_pulses SET counted_ul = 7 WHERE id = 2");
  tamper("UPDATE past_pulses SET fate = 0, counted_ul = 7 WHERE id = 4");
  later(kRowsKept);
  (void)tidy(ledger);
  EXPECT_EQ(ids("past_pulses"), "4") << "nothing sound behind it says how old it is";
  EXPECT_EQ(number("SELECT volume_ul FROM days"), 20000);
  EXPECT_EQ(number("SELECT pulses FROM days"), 2);
  EXPECT_EQ(number("SELECT unreadable FROM days"), 1);
  EXPECT_EQ(number("SELECT id FROM damaged WHERE what = 'past_pulses'"), 2);
}

TEST_F(PastTest, a_damaged_sum_is_not_added_to_and_says_that_it_is_not_whole) {
  Ledger ledger = prepared();
  give(ledger, 1, 10.0);
  give(ledger, 2, 10.0);
  give(ledger, 3, 10.0);
  later(kRowsKept + 1h);
  ASSERT_EQ(*ledger.tidy(boot.now), Left::more);
  ASSERT_EQ(*ledger.tidy(boot.now), Left::more);
  ASSERT_EQ(number("SELECT pulses FROM days"), 2);
  tamper("UPDATE days SET volume_ul = 9000000");
  give(ledger, 4, 10.0);
  later(kRowsKept + 1h);
  boot.now.wall -= kRowsKept + 1h;
  (void)tidy(ledger);
  EXPECT_EQ(number("SELECT volume_ul FROM days"), 10000);
  EXPECT_EQ(number("SELECT unreadable FROM days"), 1);
  EXPECT_EQ(number("SELECT count(*) FROM damaged WHERE what = 'days'"), 1);
}

TEST_F(PastTest, adds_to_all_numbers_of_a_day) {
  Ledger ledger = prepared();
  for (std::int64_t id = 1; id <= 4; ++id) {
    give(ledger, id, 10.0);
    stir(ledger, id);
  }
  later(kRowsKept + 1h);
  tamper(
      "INSERT INTO past_stirs SELECT * FROM stirs WHERE id = 1; DELETE FROM stirs WHERE id = 1; "
      "INSERT INTO past_pulses SELECT * FROM pulses WHERE id <= 2; DELETE FROM pulses WHERE id <= "
      "2; UPDATE past_pulses SET counted_ul = 0 WHERE id = 1");
  const dosing::Stamp now = stamp(ledger);
  {
    const auto file = Database::open(path, Creating::no, Sync::full);
    tamper(
        "CREATE TABLE later AS SELECT * FROM pulses; DELETE FROM pulses WHERE id < 4; CREATE "
        "TABLE later_stirs AS SELECT * FROM stirs; DELETE FROM stirs WHERE id < 4");
    while (tidy_once(*file, now) == Left::more) {
    }
    tamper(
        "INSERT INTO past_pulses SELECT * FROM later WHERE id = 3; INSERT INTO past_stirs "
        "SELECT * FROM later_stirs WHERE id < 4");
    while (tidy_once(*file, now) == Left::more) {
    }
  }
  EXPECT_EQ(number("SELECT pulses FROM days"), 2);
  EXPECT_EQ(number("SELECT volume_ul FROM days"), 20000);
  EXPECT_EQ(number("SELECT stirs FROM days"), 3);
  EXPECT_EQ(number("SELECT unreadable FROM days"), 1);
}

TEST_F(PastTest, a_stations_row_that_is_damaged_is_not_made_sound) {
  Ledger ledger = prepared();
  dose(ledger, 60);
  tamper("UPDATE stations SET whole_to = 3");
  (void)tidy(ledger);
  EXPECT_EQ(number("SELECT whole_to FROM stations"), 3);
  EXPECT_TRUE(full(history(opened())));
}

TEST_F(PastTest, is_not_held_up_by_what_stands_for_a_lost_record) {
  Ledger ledger = prepared();
  dose(ledger, 60);
  ASSERT_TRUE(ledger.presume_full("reef", "A test.", boot.now));
  (void)tidy(ledger);
  EXPECT_GT(rows("past_pulses"), 0);
}

TEST_F(PastTest, a_witness_that_names_a_pulse_of_it_is_still_held_against_it) {
  Witness witness;
  {
    Ledger ledger = prepared();
    give(ledger, 1);
    witness = *ledger.witness_of("reef");
    dose(ledger, 1);
    give(ledger, 2);
    later(49h);
    (void)tidy(ledger);
    ASSERT_EQ(ids("past_pulses"), "1");
  }
  witness.reserved.lifetime += 1ms;
  const auto other = Ledger::open(path, {{"reef", copy, witness}}, boot);
  ASSERT_TRUE(other);
  EXPECT_THAT(other->notes(), ElementsAre(HasSubstr("tell of different pulses")));
}

TEST_F(PastTest, a_file_that_is_mostly_room_is_packed_by_prepare_and_forgets_nothing) {
  std::string before;
  {
    Ledger ledger = prepared();
    for (std::int64_t id = 1; id <= 3000; ++id) {
      give(ledger, id, 1.0);
    }
    later(kRowsKept + 1h);
    (void)tidy(ledger);
    before = text(history(ledger));
  }
  const std::int64_t pages = number("PRAGMA page_count");
  ASSERT_TRUE(Ledger::prepare(path, {"reef"}, boot));
  EXPECT_LT(number("PRAGMA page_count"), pages / 2);
  EXPECT_LT(std::filesystem::file_size(path), static_cast<std::uintmax_t>(pages) * 2048);
  EXPECT_THAT(opened().notes(), IsEmpty());
  EXPECT_EQ(text(history(opened())), before);
  EXPECT_EQ(number("SELECT pulses FROM days"), 2999);
}

TEST_F(PastTest, a_table_that_begins_at_anothers_page_is_damage) {
  {
    Ledger ledger = prepared();
    dose(ledger, 5);
    ASSERT_TRUE(ledger.latch("reef", "ph-second-ceiling", boot.now.wall));
  }
  // Empty, and as sound as any, if each table is checked alone.
  tamper(
      "PRAGMA writable_schema = ON; UPDATE sqlite_master SET rootpage = (SELECT rootpage FROM "
      "sqlite_master WHERE name = 'days') WHERE name = 'latches'");
  EXPECT_TRUE(full(history(opened())));
  EXPECT_EQ(kept_aside(), 1U);
}

class LookThrough : public PastTest {
 protected:
  void write() {
    Ledger ledger = prepared();
    dose(ledger, 60);
    later(kRowsKept);
    give(ledger, 61);
    (void)tidy(ledger);
    dose_more(ledger);
  }
  void dose_more(Ledger& ledger) {
    for (std::int64_t id = 62; id < 400; ++id) {
      give(ledger, id);
    }
    later(49h);
    (void)tidy(ledger);
  }
  [[nodiscard]] Stored<std::vector<std::string>> look() const {
    return look_through(path, [] { return true; });
  }
};

TEST_F(LookThrough, finds_a_sound_ledger_sound) {
  write();
  ASSERT_TRUE(look());
  EXPECT_THAT(*look(), IsEmpty());
}

TEST_F(LookThrough, tells_of_rows_of_the_past_that_are_damaged) {
  write();
  tamper("UPDATE past_pulses SET counted_ul = 7 WHERE id < 70");
  tamper("UPDATE days SET stirs = 1000");
  EXPECT_THAT(*look(), ElementsAre(HasSubstr("table past_pulses, rows are damaged: 9."),
                                   HasSubstr("table days, rows are damaged: 3.")));
}

TEST_F(LookThrough, finds_a_page_of_the_past_that_can_not_be_read_and_a_start_does_not_mind) {
  write();
  tamper("PRAGMA wal_checkpoint(TRUNCATE)");
  const std::int64_t root = number("SELECT rootpage FROM sqlite_master WHERE name = 'past_pulses'");
  for (const char* suffix : {"-wal", "-shm"}) {
    std::filesystem::remove(path + suffix);
  }
  std::string content = bytes();
  content.replace(static_cast<std::size_t>(root - 1) * 4096, 4096, std::string(4096, '\x5a'));
  put(content);
  const auto found = look();
  ASSERT_FALSE(found);
  EXPECT_EQ(found.error().fault, StorageFault::damaged);
  const Ledger ledger = opened();
  EXPECT_THAT(ledger.notes(), IsEmpty());
  later(49h);
  const auto left = ledger.tidy(boot.now);
  ASSERT_FALSE(left);
  EXPECT_EQ(left.error().fault, StorageFault::damaged);
  EXPECT_TRUE(ledger.prove_writable()) << "what is counted now goes on";
}

TEST_F(LookThrough, gives_up_when_it_is_asked_to) {
  write();
  tamper("UPDATE past_pulses SET counted_ul = 7");
  EXPECT_THAT(*look_through(path, [] { return false; }), IsEmpty());
}

/// A ledger of the version before, with years in it.
class Upgrade : public PastTest {
 protected:
  void expect_the_same(const Ledger& before) {
    const std::string was = text(history(before));
    tamper(back_to_schema(7));
    const Ledger ledger = opened();
    EXPECT_EQ(text(history(ledger)), was);
    EXPECT_THAT(ledger.notes(), IsEmpty());
    EXPECT_THAT(opened().notes(), IsEmpty());
  }
};

TEST_F(Upgrade, reads_what_it_needs_and_forgets_nothing) {
  {
    Ledger ledger = prepared();
    dose(ledger, 300);
    expect_the_same(ledger);
  }
  EXPECT_LT(rows("pulses"), 60);
  EXPECT_EQ(rows("pulses") + rows("past_pulses"), 300);
  EXPECT_EQ(rows("stirs") + rows("past_stirs"), 75);
  tamper("DELETE FROM pulses WHERE id = 295");
  EXPECT_TRUE(full(history(opened()))) << "a number that is missing is found as before";
}

TEST_F(Upgrade, takes_back_the_newest_that_was_given_however_long_ago) {
  Ledger ledger = prepared();
  dose(ledger, 80);
  later(kDay * 30);
  ASSERT_TRUE(ledger.append("reef", pulse(ledger, 81)));
  ASSERT_TRUE(ledger.close_pulse("reef", 81, Fate::not_given, Millilitres{0.0}));
  later(kDay * 3);
  ASSERT_TRUE(ledger.append("reef", pulse(ledger, 82)));
  expect_the_same(ledger);
}

TEST_F(Upgrade, takes_back_what_stands_for_a_lost_record) {
  Ledger ledger = prepared();
  dose(ledger, 100);
  ASSERT_TRUE(ledger.presume_full("reef", "A test.", boot.now));
  tamper(back_to_schema(7));
  EXPECT_TRUE(full(history(opened())));
  EXPECT_EQ(ids("pulses").substr(0, 6), "-1 51 ");
}

TEST_F(Upgrade, leaves_in_the_past_what_was_never_closed_and_sums_up_the_rest) {
  Ledger ledger = prepared();
  ASSERT_TRUE(ledger.append("reef", pulse(ledger, 1)));
  give(ledger, 2);
  later(kRowsKept + 1h);
  give(ledger, 3);
  later(49h);
  give(ledger, 4);
  tamper(back_to_schema(7));
  const Ledger now = opened();
  EXPECT_EQ(ids("past_pulses"), "1 2");
  (void)tidy(now);
  EXPECT_EQ(ids("past_pulses"), "1 3");
  EXPECT_EQ(number("SELECT pulses FROM days"), 1);
}

TEST_F(Upgrade, finds_damage_among_what_it_takes_back) {
  {
    Ledger ledger = prepared();
    dose(ledger, 100);
  }
  tamper("UPDATE pulses SET counted_ul = 0 WHERE id = 95; " + back_to_schema(7));
  EXPECT_TRUE(full(history(opened())));
}

TEST_F(Upgrade, of_a_ledger_that_was_never_used_is_an_empty_one) {
  (void)prepared();
  tamper(back_to_schema(7));
  EXPECT_THAT(opened().notes(), IsEmpty());
  EXPECT_EQ(history(opened()).newest_pulse_id, 0);
}

TEST_F(PastTest, of_boots_only_the_one_that_goes_on_is_kept) {
  (void)prepared();
  for (int i = 0; i < 5; ++i) {
    reboot("boot-" + std::to_string(i + 2));
    (void)opened();
  }
  EXPECT_EQ(rows("boots"), 1);
}

}  // namespace
}  // namespace limegate::journal
