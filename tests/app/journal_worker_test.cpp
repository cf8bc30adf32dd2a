#include "app/journal_worker.h"

#include <chrono>
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

}  // namespace
}  // namespace limegate::app
