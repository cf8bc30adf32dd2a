// What people say of alerts, in the daemon's world on a real ledger.

#include <gtest/gtest.h>

#include "app/world_bench.h"
#include "web/request.h"

namespace limegate::app {
namespace {

using Verdict = station::Answer::Verdict;

class Desk : public test::WorldTest {
 protected:
  Desk() : WorldTest(test::Bench::Plan{}) {}
  void raise_own(const std::string& id) {
    world_->alerts().take("", {pace_.clock().now().wall, station::Severity::alert, id, "So.", id});
  }
  Verdict say(const alerts::Command& what, station::Origin origin) {
    return world_->alerts().obey(status().station, what, {origin, "keeper", {}}).verdict;
  }
};

TEST_F(Desk, the_daemons_own_alerts_are_meant_with_a_stations_at_the_station_only) {
  raise_own("ledger-not-writable");
  EXPECT_EQ(say(alerts::Acknowledge{"ledger-not-writable"}, station::Origin::afar),
            Verdict::refused);
  EXPECT_EQ(say(alerts::Acknowledge{"ledger-not-writable"}, station::Origin::station),
            Verdict::accepted);
  EXPECT_EQ(world_->alerts().shown("").at(0).state, "acknowledged");
  raise_own("bus-hangs");
  EXPECT_EQ(say(alerts::Acknowledge{}, station::Origin::station), Verdict::accepted) << "all";
  EXPECT_TRUE(world_->alerts().unseen().empty());
  EXPECT_EQ(world_->alerts().standing(), 2U);
  EXPECT_EQ(say(alerts::Shelve{"bus-hangs", std::chrono::hours{1}, "new cable"},
                station::Origin::station),
            Verdict::accepted);
  EXPECT_EQ(say(alerts::Shelve{"no-such", std::chrono::hours{1}, "x"}, station::Origin::station),
            Verdict::refused);
}

TEST_F(Desk, what_delivery_finds_out_is_an_alert_of_the_daemons) {
  const auto request = web::parse_request(
      R"({"jsonrpc":"2.0","id":1,"method":"found","params":{"code":"delivery-stuck",)"
      R"("sentence":"Messages have not reached mail.","about":"delivery-stuck-mail"}})");
  ASSERT_TRUE(request);
  world_->found_by_delivery(std::get<web::Request::Found>(request->what).event);
  ASSERT_EQ(world_->alerts().shown("").size(), 1U);
  EXPECT_EQ(world_->alerts().shown("")[0].id, "delivery-stuck-mail");
  EXPECT_EQ(say(alerts::Acknowledge{"delivery-stuck-mail"}, station::Origin::station),
            Verdict::accepted);
}

TEST_F(Desk, what_is_to_be_told_outlives_a_crash_at_once) {
  const auto kept = [this](const std::string& id) {
    return bench_.ledger_number("SELECT count(*) FROM alerts WHERE id = '" + id + "'") == 1;
  };
  raise_own("ledger-not-writable");
  leap([&] { return kept("ledger-not-writable"); });
  raise_own("bus-hangs");
  int seconds = 0;
  leap([&] { return ++seconds > 3; });
  EXPECT_TRUE(kept("bus-hangs")) << "and not with the next write, half a minute later";
}

}  // namespace
}  // namespace limegate::app
