#include "app/journal_worker.h"

#include <chrono>
#include <future>

#include <boost/asio/io_context.hpp>
#include <gtest/gtest.h>

#include "support/program.h"

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

}  // namespace
}  // namespace limegate::app
