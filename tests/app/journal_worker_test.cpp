#include "app/journal_worker.h"

#include <chrono>
#include <filesystem>
#include <future>
#include <string>
#include <vector>

#include <boost/asio/executor_work_guard.hpp>
#include <boost/asio/io_context.hpp>
#include <gtest/gtest.h>

#include "app/slow_sync.h"
#include "support/program.h"
#include "support/wait_until.h"

namespace limegate::app {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

TEST(JournalWorker, tells_a_disk_that_hangs_from_one_that_rests) {
  const test::TempDir folder;
  boost::asio::io_context loop;
  JournalWorker worker{loop, {folder.path(), ""}, {"reef"}, nullptr};
  EXPECT_FALSE(worker.stalled(0s)) << "nothing waits";
  ASSERT_TRUE(journal::Ledger::prepare(folder.path() + "/ledger.db", {"reef"}, {"boot", {}}));
  ASSERT_TRUE(worker.open_now({"boot", {}}));

  std::promise<void> disk;
  int answers = 0;
  const auto count = [&](const journal::Stored<void>&) { ++answers; };
  worker.ledger(
      [&](journal::Ledger&) {
        disk.get_future().wait();
        return journal::Stored<void>{};
      },
      count);
  worker.ledger([](journal::Ledger&) { return journal::Stored<void>{}; }, count);
  EXPECT_FALSE(worker.stalled(1h));
  while (!worker.stalled(50ms)) {
    loop.run_one_for(1ms);
  }
  EXPECT_EQ(answers, 0);
  disk.set_value();
  while (answers < 2) {
    loop.run_one();
  }
  EXPECT_FALSE(worker.stalled(0s)) << "all is answered";
}

TEST(JournalWorker, a_slow_record_of_readings_delays_no_row) {
  const test::TempDir folder;
  boost::asio::io_context loop;
  JournalWorker worker{loop, {folder.path(), ""}, {"reef"}, nullptr};
  ASSERT_TRUE(journal::Ledger::prepare(folder.path() + "/ledger.db", {"reef"}, {"boot", {}}));
  ASSERT_TRUE(worker.open_now({"boot", {}}));

  // So much that SQLite folds its log into the file, which is when it syncs.
  const JournalWorker::Rows rows(150000, {{}, "reef", 8.2, 25.0, "good", "good", true});
  test::slow_sync(1s, "/readings.db");
  std::vector<std::string> answered;
  worker.record(rows, {}, {}, [&](const journal::Stored<void>& done) {
    EXPECT_TRUE(done);
    answered.emplace_back("readings");
  });
  ASSERT_TRUE(test::wait_until([] { return test::slow_syncs() > 0; }));
  for (int id = 1; id <= 3; ++id) {
    worker.write("reef", station::AppendStir{{id, 15min, {}}}, {},
                 [&](const auto& fault) { answered.push_back(fault.value_or("row")); });
  }
  while (answered.size() < 4) {
    loop.run_one();
  }
  EXPECT_EQ(answered, (std::vector<std::string>{"row", "row", "row", "readings"}));
  test::quick_sync();
}

TEST(JournalWorker, deletes_nothing_by_a_clock_that_nobody_has_set) {
  const test::TempDir folder;
  boost::asio::io_context loop;
  const auto work = boost::asio::make_work_guard(loop);
  JournalWorker worker{loop, {folder.path(), ""}, {"reef"}, nullptr};
  const WallTime today{24h * 20454};
  const auto record = [&](const JournalWorker::Rows& rows, const JournalWorker::Events& events,
                          Moment now) {
    bool done = false;
    worker.record(rows, events, now, [&](const journal::Stored<void>& stored) {
      EXPECT_TRUE(stored);
      done = true;
    });
    while (!done) {
      loop.run_one();
    }
  };
  const auto rows = [&](const std::string& table) {
    return test::run_program({"/usr/bin/sqlite3", folder.path() + "/readings.db",
                              "SELECT count(*) FROM " + table})
        .output;
  };
  record({{today, "reef", 8.2, 25.0, "good", "good", true}},
         {{"reef", {today, station::Severity::info, "an-event", "It happened."}}},
         {Instant{1h}, today});
  const WallTime ten_years_on = today + 24h * 3653;
  record({}, {}, {Instant{9h}, ten_years_on, false});
  EXPECT_EQ(rows("readings"), "1\n");
  EXPECT_EQ(rows("events"), "1\n");
  record({}, {}, {Instant{18h}, ten_years_on, true});
  EXPECT_EQ(rows("readings"), "0\n") << "else this test says nothing";
  EXPECT_EQ(rows("events"), "0\n");
}

// Found by an attack: what the station wrote into a ledger that was begun anew beneath it lay in
// the future after the next start, and counted as of today for as long as the station was old.
TEST(JournalWorker, a_ledger_that_is_begun_anew_goes_on_with_the_runs_own_uptime) {
  const test::TempDir folder;
  const std::string path = folder.path() + "/ledger.db";
  const WallTime today{24h * 20454};
  ASSERT_TRUE(journal::Ledger::prepare(path, {"reef"}, {"boot-a", {Instant{0s}, today}, {}}));
  {
    auto old = journal::Ledger::open(path, {{"reef", {}}}, {"boot-a", {Instant{500h}, today}, {}});
    ASSERT_TRUE(old);
    const dosing::Stamp then{500h, today};
    ASSERT_TRUE(old->append("reef", {1, Millilitres{10.0}, 12s, then, then}));
  }
  boost::asio::io_context loop;
  const journal::Boot second{"boot-b", {Instant{1h}, today + 24h}, {}};
  const auto lifetime_of = [](const journal::Stored<JournalWorker::Opened>& opened) {
    return opened ? opened->histories.at("reef").lifetime_before_boot : Duration{};
  };
  JournalWorker worker{loop, {folder.path(), ""}, {"reef"}, nullptr};
  const Duration before = lifetime_of(worker.open_now(second));
  EXPECT_EQ(before, 499h);
  for (const char* suffix : {"", "-wal", "-shm"}) {
    std::filesystem::remove(path + suffix);
  }
  EXPECT_EQ(lifetime_of(worker.open_now(second)), before);
  // And a next run in this boot reads it with the same.
  JournalWorker next{loop, {folder.path(), ""}, {"reef"}, nullptr};
  EXPECT_EQ(lifetime_of(next.open_now(second)), before);
}

/// A ledger with pulses that are half a year old, in a worker.
class Tidying : public testing::Test {
 protected:
  Tidying() {
    EXPECT_TRUE(journal::Ledger::prepare(path, {"reef"}, {"boot", {}}));
    auto ledger = journal::Ledger::open(path, {{"reef", station::SecondCopy{}}}, {"boot", {}});
    for (std::int64_t id = 1; id <= kPulses; ++id) {
      const station::PulseRecord pulse{id, Millilitres{1.0}, 1s, {}, {}};
      EXPECT_TRUE(ledger->append("reef", pulse));
      EXPECT_TRUE(ledger->close_pulse("reef", id, station::Fate::given, pulse.volume));
    }
  }
  void open() {
    now = {Instant{24h * 180}, WallTime{24h * 180}};
    ASSERT_TRUE(worker.open_now({"boot", now}));
  }
  /// A second passes, and all that was asked for is answered.
  void second() {
    now.mono += 1s;
    now.wall += 1s;
    worker.tidy(now, tell);
    while (worker.outstanding() > 0) {
      loop.run_one_for(1s);
    }
  }
  [[nodiscard]] std::int64_t number(const std::string& sql) const {
    return *journal::Database::open(path, journal::Creating::no, journal::Sync::normal)
                ->number(sql);
  }
  [[nodiscard]] std::int64_t summed() const {
    return number("SELECT coalesce(sum(pulses), 0) FROM days");
  }

  static constexpr std::int64_t kPulses = 1000;
  test::TempDir folder;
  std::string path = folder.path() + "/ledger.db";
  boost::asio::io_context loop;
  boost::asio::executor_work_guard<boost::asio::io_context::executor_type> open_loop =
      boost::asio::make_work_guard(loop);
  JournalWorker worker{loop, {folder.path(), ""}, {"reef"}, nullptr};
  Moment now;
  std::vector<std::string> told;
  JournalWorker::Tell tell = [this](const journal::Stored<std::vector<std::string>>& notes) {
    if (!notes) {
      told.emplace_back(notes.error().detail);
      return;
    }
    told.insert(told.end(), notes->begin(), notes->end());
  };
};

TEST_F(Tidying, leaves_a_start_alone_then_works_off_years_step_by_step) {
  open();
  for (int i = 0; i < 600; ++i) {
    second();
  }
  EXPECT_EQ(number("SELECT count(*) FROM pulses WHERE id > 0"), kPulses);
  // A busy machine takes longer over a step, and then rests for longer.
  for (int i = 0; i < 3600 && summed() < kPulses - 1; ++i) {
    second();
  }
  EXPECT_EQ(number("SELECT count(*) FROM pulses WHERE id > 0"), 1);
  EXPECT_EQ(summed(), kPulses - 1);
  EXPECT_TRUE(told.empty());
}

TEST_F(Tidying, takes_no_step_while_a_row_waits_and_a_row_waits_for_one_at_most) {
  open();
  now.mono += 1h;
  second();  // says when the first look is due
  now.mono += 1h;
  second();  // the look
  std::vector<std::string> order;
  const auto row = [&](std::int64_t id) {
    worker.write("reef", station::AppendStir{{id, 15min, {now.mono.time_since_epoch(), now.wall}}},
                 now.wall, [&](const auto& fault) { order.push_back(fault.value_or("row")); });
  };
  row(1);
  const int waiting = worker.outstanding();
  worker.tidy(now, tell);
  EXPECT_EQ(worker.outstanding(), waiting);
  while (worker.outstanding() > 0) {
    loop.run_one();
  }
  EXPECT_EQ(number("SELECT count(*) FROM past_pulses"), 0);
  worker.tidy(now, tell);
  EXPECT_EQ(worker.outstanding(), 1) << "nothing waits: a step";
  row(2);
  for (int i = 0; i < 5; ++i) {
    worker.tidy(now, tell);
  }
  EXPECT_EQ(worker.outstanding(), 2) << "one step, and the row right behind it";
  while (worker.outstanding() > 0) {
    loop.run_one();
  }
  EXPECT_EQ(number("SELECT count(*) FROM past_pulses"),
            static_cast<std::int64_t>(journal::kRowsAtOnce));
  EXPECT_EQ(order, (std::vector<std::string>{"row", "row"}));
}

TEST_F(Tidying, touches_nothing_in_a_file_that_is_not_sound_and_tells_a_person) {
  open();
  {
    // A past that begins at another table's page: SQLite would take it.
    const auto other = journal::Database::open(path, journal::Creating::no, journal::Sync::normal);
    ASSERT_TRUE(other->execute(
        "PRAGMA writable_schema = ON; UPDATE sqlite_master SET rootpage = (SELECT rootpage FROM "
        "sqlite_master WHERE name = 'pulses') WHERE name = 'past_pulses'"));
  }
  second();
  now.mono += 1h;
  for (int i = 0; i < 20; ++i) {
    second();
  }
  EXPECT_EQ(number("SELECT count(*) FROM pulses WHERE id > 0"), kPulses);
  ASSERT_EQ(told.size(), 1U);
  EXPECT_NE(told.front().find("damaged where no start reads it"), std::string::npos);
  std::optional<std::string> written = "not answered";
  worker.write("reef", station::AppendStir{{1, 15min, {}}}, now.wall,
               [&](const auto& fault) { written = fault; });
  while (worker.outstanding() > 0) {
    loop.run_one();
  }
  EXPECT_EQ(written, std::nullopt) << "dosing goes on";
}

TEST_F(Tidying, rests_on_a_slow_disk) {
  open();
  second();
  now.mono += 1h;
  second();
  test::slow_sync(200ms, "/ledger.db");
  const auto work_left = [&] { return number("SELECT count(*) FROM pulses WHERE id > 0"); };
  second();
  const auto after_one = work_left();
  ASSERT_LT(after_one, kPulses);
  for (int i = 0; i < 5; ++i) {
    second();
  }
  EXPECT_EQ(work_left(), after_one);
  now.mono += 1min;
  second();
  EXPECT_LT(work_left(), after_one);
  test::quick_sync();
}

TEST_F(Tidying, a_ledger_that_can_not_be_written_is_closed_and_told) {
  open();
  second();
  now.mono += 1h;
  second();
  {
    const auto other = journal::Database::open(path, journal::Creating::no, journal::Sync::normal);
    ASSERT_TRUE(
        other->execute("CREATE TRIGGER fails BEFORE DELETE ON pulses BEGIN SELECT "
                       "RAISE(ABORT, 'no'); END"));
  }
  for (int i = 0; i < 5; ++i) {
    second();
  }
  EXPECT_EQ(told, std::vector<std::string>{"no"});
}

}  // namespace
}  // namespace limegate::app
