// Upkeep, work at the reactor and being away, by the built command line, of the built daemon.

#include <chrono>
#include <string>
#include <vector>

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "app/leaving.h"
#include "app/running.h"
#include "units/iso8601.h"
#include "units/rfc3339.h"

namespace limegate::test {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using nlohmann::json;

json chore(Running& bench, const std::string& name) {
  const json status = bench.status();
  for (const json& item : status["upkeep"]) {
    if (item["chore"] == name) {
      return item;
    }
  }
  return {};
}

TEST(Upkeep, shows_what_is_done_and_what_powder_is_left) {
  Running bench;
  ASSERT_TRUE(bench.let_pass(10s));
  const Ran before = bench.control({"upkeep"});
  EXPECT_EQ(before.code, 0) << before.output;
  EXPECT_TRUE(contains(before.output, "clean      not-known")) << before.output;
  ASSERT_EQ(bench.control({"record", "powder", "120g"}).code, 0);
  ASSERT_EQ(bench.control({"record", "new-tube"}).code, 0);
  ASSERT_TRUE(bench.let_pass(10s));
  EXPECT_EQ(chore(bench, "refill")["state"], "fine");
  EXPECT_EQ(bench.status()["powder"]["left_g"][0], 60.0);
  EXPECT_TRUE(contains(bench.control({"status"}).output, "Powder: 60 to 108 g"));
  bench.kill();
  bench.start();
  ASSERT_TRUE(bench.let_pass(10s));
  EXPECT_EQ(bench.status()["powder"]["left_g"][0], 60.0);
  EXPECT_EQ(chore(bench, "tube")["state"], "fine");
  EXPECT_EQ(bench.stop(), 0);
}

TEST(Service, gives_nothing_and_settles_after_also_over_a_kill) {
  Running bench;
  ASSERT_TRUE(bench.let_pass(3h));
  ASSERT_GT(bench.delivered_ml(), 0.0);
  const Ran begun = bench.control({"work", "--for", "1h"});
  EXPECT_EQ(begun.code, 0) << begun.output;
  EXPECT_TRUE(contains(begun.output, "Unplug pump and stirrer")) << begun.output;
  const double then = bench.delivered_ml();
  ASSERT_TRUE(bench.let_pass(30min));
  bench.kill();
  bench.start();
  ASSERT_TRUE(bench.let_pass(31min));
  EXPECT_EQ(bench.status()["in_service"], false);
  EXPECT_EQ(bench.status()["gate_open"], false) << "it is stirred, which is overdue, or settles";
  EXPECT_EQ(bench.delivered_ml(), then);
  bench.kill();
  bench.start();
  ASSERT_TRUE(bench.let_pass(10s));
  EXPECT_EQ(bench.status()["gate_open"], false) << "it is stirred, which is overdue, or settles";
  ASSERT_TRUE(bench.let_pass(4h));
  EXPECT_GT(bench.delivered_ml(), then);
  EXPECT_EQ(bench.stop(), 0);
}

TEST(Away, says_what_to_mend_before_and_goes_on_by_itself_after) {
  Running bench;
  ASSERT_TRUE(bench.let_pass(10s));
  const double day = bench.status()["day_volume_ml"];
  const auto in = [&](Duration later) {
    return iso8601(
        *parse_rfc3339(
            json::parse(bench.control({"status", "--json"}).output)["time"].get<std::string>()) +
        later);
  };
  const Ran first = bench.control({"away", "--until", in(48h), "--leave", "50%"});
  EXPECT_EQ(first.code, 4) << first.output;
  for (const char* part : {"how much powder is left", "No alkalinity is in the book",
                           "No alert would reach you", "L of fresh water", "--sure"}) {
    EXPECT_TRUE(contains(first.output, part)) << first.output;
  }
  EXPECT_EQ(bench.status()["day_volume_ml"], day);
  const Ran gone = bench.control({"away", "--until", in(48h), "--leave", "50%", "--sure"});
  EXPECT_EQ(gone.code, 0) << gone.output;
  EXPECT_EQ(bench.status()["day_volume_ml"], day / 2);
  bench.kill();
  bench.start();
  ASSERT_TRUE(bench.let_pass(10s));
  EXPECT_EQ(bench.status()["day_volume_ml"], day / 2);
  EXPECT_EQ(bench.control({"volume", "--per-day", "100mL"}).code, 4);
  EXPECT_EQ(bench.control({"back"}).code, 0);
  EXPECT_EQ(bench.status()["day_volume_ml"], day);
  EXPECT_EQ(bench.control({"back"}).code, 4);
  for (const std::vector<std::string>& wrong : {std::vector<std::string>{"away", "--until", "soon"},
                                                {"away", "--until", "2001-01-01"},
                                                {"away", "--until", in(61 * 24h)},
                                                {"away", "--until", in(48h), "--leave", "170%"},
                                                {"away", "--until", in(48h), "--leave", "-1%"},
                                                {"work", "--for", "25h"},
                                                {"work", "--for", "0h"},
                                                {"work", "--for", "-1h"}}) {
    const Ran ran = bench.control(wrong);
    EXPECT_EQ(ran.code, 2) << wrong.back() << ": " << ran.output;
  }
  EXPECT_EQ(bench.stop(), 0);
}

/// Of a station where all is well: alkalinity of yesterday, powder for 40 days at least.
json well() {
  return {{"time", "2026-11-25T12:00:00Z"},
          {"verdict", {{"standing", "well"}, {"sentence", "Dosing goes on."}}},
          {"alkalinity", {{"dkh", 8.1}, {"time", "2026-11-24T12:00:00Z"}}},
          {"powder", {{"left_g", {60, 108}}, {"days", {40, 70}}}},
          {"upkeep", json::array()}};
}

TEST(Leaving, asks_for_nothing_where_all_is_well) {
  EXPECT_TRUE(app::before_leaving(well(), 14 * 24h, 1.0, 1).empty());
}

TEST(Leaving, names_what_ends_before_the_return) {
  json status = well();
  EXPECT_EQ(app::before_leaving(status, 41 * 24h, 1.0, 1).size(), 1U) << "powder for 40 days";
  EXPECT_TRUE(app::before_leaving(status, 41 * 24h, 0.5, 1).empty()) << "half of it: for 80";
  status["alkalinity"]["time"] = "2026-11-17T12:00:00Z";
  EXPECT_EQ(app::before_leaving(status, 24h, 1.0, 1).size(), 1U);
  EXPECT_EQ(app::before_leaving(status, 24h, 1.0, 0).size(), 2U) << "and nobody would be told";
  status["upkeep"] = {
      {{"chore", "clean"}, {"state", "fine"}, {"due_s", 86000}, {"sentence", "Soon."}},
      {{"chore", "tube"}, {"state", "fine"}, {"due_s", nullptr}, {"sentence", "Fine."}},
      {{"chore", "calibrate"}, {"state", "due"}, {"due_s", nullptr}, {"sentence", "Due."}}};
  const auto both = app::before_leaving(status, 24h, 1.0, 1);
  ASSERT_EQ(both.size(), 3U);
  EXPECT_EQ(both[1], "Soon.");
  EXPECT_EQ(both[2], "Due.");
  status["verdict"]["standing"] = "held";
  status["holds"] = {{{"code", "settling"}}, {{"code", "stirrer-running"}}};
  EXPECT_EQ(app::before_leaving(status, 24h, 1.0, 1).size(), 3U) << "that goes by itself";
  status["holds"].push_back({{"code", "ph-ceiling"}});
  EXPECT_EQ(app::before_leaving(status, 24h, 1.0, 1).size(), 4U);
}

}  // namespace
}  // namespace limegate::test
