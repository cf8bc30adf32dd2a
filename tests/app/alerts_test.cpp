// An alert's life at the built daemon: over SIGKILLs it is neither lost nor repeated, its messages
// have an id each, and what somebody said of it stands.

#include <set>
#include <string>

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "app/bench.h"
#include "app/running.h"

namespace limegate::test {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using nlohmann::json;

/// All messages that were ever given out, by id.
std::int64_t messages(const Bench& bench) {
  return bench.ledger_number("SELECT count(*) FROM alert_messages");
}

/// What was repeated before its time: raised twice, or told again within an hour. A start that
/// takes long lets the bench's time go on, and what is then due is due.
std::int64_t repeated(const Bench& bench) {
  return bench.ledger_number(
      "SELECT count(*) FROM alert_messages AS one JOIN alert_messages AS other "
      "ON one.number < other.number WHERE other.event LIKE '%limegate.alert.raised%' "
      "OR other.lifetime_ms - one.lifetime_ms < 3600000");
}

TEST(AlertsOfTheDaemon, are_neither_lost_nor_repeated_when_it_is_killed) {
  Running bench;
  for (const double ph : {8.35, 8.45, 8.55, 8.62}) {  // in steps that are no jump
    bench.show_ph(ph);
    ASSERT_TRUE(bench.let_pass(2min));
  }
  ASSERT_TRUE(bench.wait_for([&] { return messages(bench) == 1; }));
  const std::string number = bench.status()["alerts"][0]["id"];
  for (int i = 0; i < 3; ++i) {
    bench.kill();
    bench.start();
    ASSERT_TRUE(bench.let_pass(2min));
    ASSERT_EQ(bench.status()["alerts"].size(), 1U) << bench.status()["alerts"].dump();
    EXPECT_EQ(bench.status()["alerts"][0]["state"], "unacknowledged");
    EXPECT_EQ(repeated(bench), 0) << "after restart " << i;
  }
  EXPECT_EQ(bench.control({"acknowledge", "ph-second-ceiling"}).code, 0);
  ASSERT_TRUE(bench.let_pass(3s));
  const std::int64_t until_seen = messages(bench);
  bench.kill();
  bench.start();
  ASSERT_TRUE(bench.let_pass(2min));
  EXPECT_EQ(bench.status()["alerts"][0]["state"], "acknowledged");
  ASSERT_TRUE(bench.let_pass(2h));
  EXPECT_EQ(messages(bench), until_seen) << "seen at the station it is quiet";
  EXPECT_EQ(bench.stop(), 0);
}

TEST(AlertsOfTheDaemon, of_a_dead_bus_are_one_message_that_names_the_bus) {
  Running bench;
  bench.slave().close_port();
  ASSERT_TRUE(bench.let_pass(8min));
  EXPECT_EQ(messages(bench), 0);
  ASSERT_TRUE(bench.let_pass(8min));
  EXPECT_EQ(messages(bench), 1);
  std::set<std::string> ids;
  const json status = bench.status();
  for (const json& alert : status["alerts"]) {
    ids.insert(alert["id"]);
  }
  EXPECT_TRUE(ids.count("bus-silent") == 1 && ids.size() > 2) << status["alerts"].dump();
  EXPECT_EQ(bench.ledger_number("SELECT event LIKE '%\"subject\":\"reef/bus-silent\"%' AND event "
                                "LIKE '%explains\":[\"%' FROM alert_messages"),
            1);
  bench.slave().reopen_port();
  // Connections are made in life's own time.
  EXPECT_TRUE(bench.wait_for([&] {
    return bench.ledger_number(
               "SELECT count(*) FROM alerts WHERE id = 'bus-silent' AND record LIKE "
               "'%\"over\":{%'") == 1;
  })) << bench.log();
  EXPECT_EQ(bench.stop(), 0);
}

TEST(AlertsOfTheDaemon, are_shelved_with_an_end_and_a_reason_and_listed) {
  Running bench;
  for (const double ph : {8.35, 8.45, 8.55, 8.62}) {
    bench.show_ph(ph);
    ASSERT_TRUE(bench.let_pass(2min));
  }
  const Ran endless =
      bench.control({"shelve", "ph-second-ceiling", "--for", "200h", "--because", "x"});
  EXPECT_EQ(endless.code, 4) << endless.output;
  EXPECT_TRUE(contains(endless.output, "7 days at most")) << endless.output;
  EXPECT_EQ(bench.control({"shelve", "ph-second-ceiling", "--because", "x"}).code, 2);
  EXPECT_EQ(
      bench.control({"shelve", "ph-second-ceiling", "--for", "2h", "--because", "on my way"}).code,
      0);
  const Ran list = bench.control({"alerts"});
  EXPECT_EQ(list.code, 0);
  EXPECT_TRUE(contains(list.output, "shelved, latched")) << list.output;
  EXPECT_TRUE(contains(list.output, "on my way")) << list.output;
  ASSERT_TRUE(bench.let_pass(2min));
  // The bench has a clock of its own, in other years than the one on the wall.
  const Ran history = bench.control({"alerts", "--since", "40000d"});
  EXPECT_TRUE(contains(history.output, "shelve")) << history.output;
  EXPECT_EQ(bench.control({"alerts", "test"}).code, 1) << "the file names no destination";
  EXPECT_EQ(bench.stop(), 0);
}

}  // namespace
}  // namespace limegate::test
