// The keeper's book by the built command line, of the built daemon.

#include <chrono>
#include <cmath>
#include <cstdint>
#include <string>
#include <vector>

#include <fmt/format.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "app/running.h"
#include "journal/ledger_rows.h"
#include "journal/past_rows.h"
#include "journal/stored_row.h"
#include "support/places.h"
#include "units/iso8601.h"

namespace limegate::test {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using nlohmann::json;

json book(Running& bench) {
  const Ran ran = bench.control({"book", "--json"});
  EXPECT_EQ(ran.code, 0) << ran.output;
  return json::parse(ran.output);
}

TEST(Book, takes_a_test_shows_it_and_takes_it_back) {
  Running bench;
  const Ran took = bench.control({"record", "alkalinity", "8.1dKH", "--kit", "drops, \"new\""});
  EXPECT_EQ(took.code, 0) << took.output;
  EXPECT_TRUE(contains(took.output, "Entry 1: alkalinity 8.1 dKH at ")) << took.output;
  EXPECT_EQ(bench.control({"record", "water-change", "40 L"}).code, 0);
  EXPECT_EQ(bench.control({"record", "cleaned"}).code, 0);
  EXPECT_EQ(bench.status()["alkalinity"]["dkh"], 8.1);
  EXPECT_EQ(bench.status()["alkalinity"]["counts"], true);
  const Ran undone = bench.control({"undo", "1"});
  EXPECT_EQ(undone.code, 0) << undone.output;
  EXPECT_EQ(bench.control({"undo", "1"}).code, 4);
  EXPECT_TRUE(bench.status()["alkalinity"].is_null());
  const json all = book(bench);
  ASSERT_EQ(all.size(), 3U);
  EXPECT_TRUE(all[0]["undone"].is_string());
  EXPECT_EQ(all[1]["what"], "water_change");
  EXPECT_EQ(all[2]["written"], true);
  const Ran page = bench.control({"book"});
  EXPECT_TRUE(contains(page.output, "alkalinity 8.1 dKH (drops, \"new\"), taken back"))
      << page.output;
  EXPECT_EQ(bench.stop(), 0);
  EXPECT_TRUE(contains(bench.log(), "By control socket, user root: record. Entry 1"))
      << bench.log();
}

TEST(Book, refuses_and_asks_back_in_one_sentence) {
  Running bench;
  ASSERT_EQ(bench.control({"record", "alkalinity", "8.1dKH"}).code, 0);
  struct Case {
    std::vector<std::string> words;
    int code;
    const char* says;
  };
  for (const Case& one :
       std::vector<Case>{{{"record", "alkalinity", "81dKH"}, 4, "can't be true"},
                         {{"record", "alkalinity", "8.1"}, 4, "has no unit"},
                         {{"record", "alkalinity"}, 4, "has no unit"},
                         {{"record", "alkalinity", "8,1dKH"}, 4, "can't be in ',1dKH'"},
                         {{"record", "alkalinity", "0.9dKH"}, 4, "say it again with --sure"},
                         {{"record", "alkalinity", "8.2dKH", "--at", "2199-01-01T00:00:00Z"},
                          4,
                          "later than now"},
                         {{"record", "alkalinity", "8.2dKH", "--at", "yesterday"}, 2, "is no time"},
                         {{"record", "limewater", "100mL"}, 4, "The station counts"},
                         {{"record"}, 2, "Say what to record"},
                         {{"record", "cleaned", "--from", "x.csv"}, 2, "not both"},
                         {{"record", "--from", "/no/such/file"}, 2, "can't be read"},
                         {{"undo", "99"}, 4, "There is no entry 99"},
                         {{"undo", "-1"}, 4, "There is no entry"},
                         {{"undo", "one"}, 2, "ENTRY"},
                         {{"book", "--station", "nowhere"}, 4, "name it"}}) {
    const Ran ran = bench.control(one.words);
    EXPECT_EQ(ran.code, one.code) << one.words.back() << ": " << ran.output;
    EXPECT_TRUE(contains(ran.output, one.says)) << one.words.back() << ": " << ran.output;
  }
  EXPECT_EQ(book(bench).size(), 1U);
  EXPECT_EQ(bench.control({"record", "alkalinity", "0.9dKH", "--sure"}).code, 0);
  EXPECT_EQ(book(bench).size(), 2U);
  EXPECT_EQ(bench.stop(), 0);
}

// "It answers once the entry is on the disk": a power cut right after it loses nothing.
TEST(Book, that_has_answered_is_there_after_a_kill_and_so_is_its_hold) {
  Running bench;
  ASSERT_EQ(bench.control({"record", "alkalinity", "8.1dKH"}).code, 0);
  bench.kill();
  bench.start();
  ASSERT_TRUE(bench.let_pass(10s));
  EXPECT_EQ(bench.status()["alkalinity"]["dkh"], 8.1);
  ASSERT_EQ(bench.control({"record", "alkalinity", "12dKH", "--sure"}).code, 0);
  ASSERT_TRUE(
      bench.wait_for([&] { return bench.ledger_number("SELECT count(*) FROM latches") == 1; }));
  bench.kill();
  bench.start();
  ASSERT_TRUE(bench.let_pass(3h));
  EXPECT_EQ(bench.delivered_ml(), 0.0);
  EXPECT_TRUE(contains(bench.control({"status"}).output, "Alkalinity was tested above 11.0 dKH"));
  EXPECT_EQ(bench.control({"release", "alkalinity-too-high"}).code, 4);
  const Ran below = bench.control({"record", "alkalinity", "8.2dKH", "--sure"});
  EXPECT_TRUE(contains(below.output, "Released: alkalinity-too-high")) << below.output;
  ASSERT_TRUE(bench.let_pass(3h));
  EXPECT_GT(bench.delivered_ml(), 0.0);
  EXPECT_EQ(bench.stop(), 0);
}

TEST(Book, goes_out_as_a_table_and_comes_in_again) {
  Running bench;
  const std::string table = bench.state_dir() + "/../book.csv";
  write_file(table,
             "time,what,value,unit,kit\n2026-01-01T10:00:00Z,alkalinity,8.3,dKH,drops\n"
             "2026-01-08T10:00:00Z,alkalinity,83,dKH,drops\nnever,alkalinity,8.3,dKH,\n"
             "2026-01-09T10:00:00Z,calcium,420,mg/L,\n");
  const Ran some = bench.control({"record", "--from", table});
  EXPECT_EQ(some.code, 4) << some.output;
  for (const char* part : {"line 3: Alkalinity of 83 dKH can't be true",
                           "line 4: 'never' is no time", "2 of 4 rows were written down."}) {
    EXPECT_TRUE(contains(some.output, part)) << some.output;
  }
  const Ran out = bench.control({"book", "--csv"});
  EXPECT_EQ(out.output,
            "time,what,value,unit,kit\n2026-01-01T10:00:00Z,alkalinity,8.3,dKH,drops\n"
            "2026-01-09T10:00:00Z,calcium,420,mg/L,\n");
  write_file(table, out.output);
  const Ran again = bench.control({"record", "--from", table});
  EXPECT_TRUE(contains(again.output, "in the book already, as entry 1")) << again.output;
  EXPECT_EQ(book(bench).size(), 2U);
  EXPECT_EQ(bench.stop(), 0);
}

// Found by a review: a byte that is no text ended the program, and a step came in by a file.
TEST(Book, takes_from_a_table_what_is_text_and_no_step) {
  Running bench;
  const std::string table = bench.state_dir() + "/../book.csv";
  write_file(table,
             "time,what,value,unit,kit\n2026-01-01T10:00:00Z,alkalinity,8.3,dKH,\xff\xfe\n"
             "2026-01-02T10:00:00Z,alkalinity,8.3,dKH,a\x01z\n"
             "2026-01-03T10:00:00Z,step,half-dose,done,\n"
             "2026-01-04T10:00:00Z,alkalinity,8.2,dKH,drops\n");
  const Ran some = bench.control({"record", "--from", table});
  EXPECT_EQ(some.code, 4) << some.output;
  for (const char* part :
       {"line 2: a field is not valid UTF-8", "line 3: a field holds a control character",
        "line 4: a step of commissioning", "1 of 4 rows were written down."}) {
    EXPECT_TRUE(contains(some.output, part)) << some.output;
  }
  EXPECT_EQ(bench.stop(), 0);
}

TEST(Book, of_many_entries_is_shown_whole) {
  Running bench;
  const std::string table = bench.state_dir() + "/../book.csv";
  std::string rows = "time,what,value,unit\n";
  for (int minute = 0; minute < 150; ++minute) {
    rows += "2026-01-01T0" + std::to_string(minute / 60) + ":" + (minute % 60 < 10 ? "0" : "") +
            std::to_string(minute % 60) + ":00Z,cleaned,,\n";
  }
  write_file(table, rows);
  ASSERT_EQ(bench.control({"record", "--from", table}).code, 0);
  EXPECT_EQ(book(bench).size(), 150U);
  EXPECT_EQ(bench.stop(), 0);
}

/// A station that has given 1200 mL on each of the last forty days, as its ledger says.
class Dosed : public Running {
 public:
  Dosed() {
    EXPECT_EQ(stop(), 0);
    const auto ledger = journal::Database::open(state_dir() + "/ledger.db", journal::Creating::no,
                                                journal::Sync::full);
    EXPECT_TRUE(ledger);
    const auto today = std::chrono::floor<std::chrono::days>(wall()).time_since_epoch().count();
    bool stored = journal::store(*ledger, journal::StationRow{"reef", (today - 40) * 86400000, 0})
                      .has_value();
    for (std::int64_t day = today - 40; day < today; ++day) {
      stored =
          stored &&
          journal::store(*ledger, journal::DayRow{"reef", day, 60, 1200000, 0, 24, 0}).has_value();
    }
    EXPECT_TRUE(stored);
    start();
    EXPECT_TRUE(let_pass(10s)) << log();
  }
  /// When its clock was stopped last.
  [[nodiscard]] WallTime wall() const {
    return WallTime{std::chrono::seconds{record_number("SELECT max(at_s) FROM events")}};
  }
};

TEST(Advice, by_the_stations_own_book_is_shown_and_applied) {
  Dosed bench;
  // Rises by 0.3 dKH a week: too much is given.
  for (int week = 0; week < 5; ++week) {
    const Ran ran =
        bench.control({"record", "alkalinity", fmt::format("{:.1f}dKH", 8.0 + 0.3 * week), "--at",
                       iso8601(bench.wall() - 24h * 7 * (4 - week) - 1h)});
    ASSERT_EQ(ran.code, 0) << ran.output;
  }
  const Ran shown = bench.control({"advise", "--json"});
  ASSERT_EQ(shown.code, 0) << shown.output;
  const json advice = json::parse(shown.output);
  EXPECT_EQ(advice["present_volume_ml_per_day"], 1200.0) << shown.output;
  EXPECT_EQ(advice["tests"], 5);
  EXPECT_EQ(advice["enough_tests"], true) << shown.output;
  const double next = advice["next_volume_ml_per_day"];
  EXPECT_LT(next, 1190.0);
  EXPECT_GE(next, 900.0) << "a quarter at the most";
  EXPECT_EQ(bench.status()["day_volume_ml"], 1200.0) << "advice changes nothing";
  const Ran applied = bench.control({"advise", "--apply"});
  EXPECT_EQ(applied.code, 0) << applied.output;
  bench.kill();
  bench.start();
  ASSERT_TRUE(bench.let_pass(10s));
  const double after = bench.status()["day_volume_ml"];
  EXPECT_TRUE(after == 1200.0 || std::abs(after - next) <= 1.0) << after << " for " << next;
  EXPECT_EQ(bench.control({"advise", "--apply"}).code, 0);
  ASSERT_TRUE(bench.let_pass(10s));
  EXPECT_NEAR(bench.status()["day_volume_ml"].get<double>(), next, 1.0);
  EXPECT_EQ(bench.stop(), 0);
}

TEST(Advice, is_not_applied_without_enough_tests_or_from_a_file) {
  Dosed bench;
  ASSERT_EQ(bench.control({"record", "alkalinity", "8.1dKH"}).code, 0);
  const Ran few = bench.control({"advise", "--apply"});
  EXPECT_EQ(few.code, 4) << few.output;
  EXPECT_TRUE(contains(few.output, "not enough tests yet")) << few.output;
  EXPECT_EQ(bench.control({"advise", "--apply", "--from", "x.csv"}).code, 2);
  EXPECT_EQ(bench.control({"advise", "--apply", "--at", "2026-01-01T00:00:00Z"}).code, 2);
  EXPECT_EQ(bench.status()["day_volume_ml"], 1200.0);
  EXPECT_EQ(bench.stop(), 0);
}

TEST(Book, of_a_daemon_that_does_not_run_is_asked_for_in_vain) {
  Running bench;
  EXPECT_EQ(bench.stop(), 0);
  for (const std::vector<std::string>& words :
       {std::vector<std::string>{"record", "cleaned"}, {"undo", "1"}, {"book"}, {"advise"}}) {
    const Ran ran = bench.control(words);
    EXPECT_EQ(ran.code, 1) << ran.output;
    EXPECT_TRUE(contains(ran.output, "Start it first")) << ran.output;
  }
}

}  // namespace
}  // namespace limegate::test
