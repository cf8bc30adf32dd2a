// The status for scripts.

#include "web/overview_json.h"

#include <chrono>
#include <cmath>

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

namespace limegate::web {
namespace {

using nlohmann::json;

constexpr WallTime kThen{std::chrono::seconds{1795590932}};  // 2026-11-25T07:15:32Z

station::Overview overview() {
  station::Overview now;
  now.stations.emplace_back();
  station::Status& reef = now.stations.back();
  reef.ph.value = reef.ph.newest = 8.2142857;
  reef.ph.quality = signal::Quality::good;
  reef.ph.reason = signal::Reason::none;
  reef.temperature = reef.ph;
  reef.temperature.value = 25.4999;
  reef.given_hour = Millilitres{28.333333};
  reef.given_day = Millilitres{600.0};
  reef.next_stir_in = std::chrono::milliseconds{1500};
  return now;
}

json reef_of(const station::Overview& now) { return json_of(now).at("stations").at(0); }

TEST(OverviewJson, has_a_version) { EXPECT_EQ(json_of(overview()).at("version"), 1); }

TEST(OverviewJson, rounds_as_a_person_reads) {
  const json reef = reef_of(overview());
  EXPECT_EQ(reef.at("ph").at("value").dump(), "8.214");
  EXPECT_EQ(reef.at("temperature_c").at("value").dump(), "25.5");
  EXPECT_EQ(reef.at("given_hour_ml").dump(), "28.3");
  EXPECT_EQ(reef.at("next_stir_s").dump(), "2");
  EXPECT_TRUE(reef.at("next_window_s").is_null()) << "nobody knows when it is clear";
  EXPECT_TRUE(reef.at("ph_ceiling").is_null());
  station::Overview small = overview();
  small.stations[0].next_window_in = std::chrono::milliseconds{1500};
  small.stations[0].ph_ceiling = Ph{8.45};
  EXPECT_EQ(reef_of(small).at("next_window_s").dump(), "2");
  EXPECT_EQ(reef_of(small).at("ph_ceiling").dump(), "8.45");
  small.stations[0].above_reference = PhChange{-0.0001};
  EXPECT_EQ(reef_of(small).at("above_reference_ph").dump(), "0.0") << "never -0";
}

TEST(OverviewJson, shows_the_newest_sample_and_attended_run) {
  station::Overview now = overview();
  EXPECT_TRUE(reef_of(now).at("attended_run").is_null());
  now.stations[0].ph.newest = 10.0123;
  now.stations[0].attended_run = {true, std::chrono::milliseconds{30040}};
  EXPECT_EQ(reef_of(now).at("ph").at("value").dump(), "8.214");
  EXPECT_EQ(reef_of(now).at("ph").at("newest").dump(), "10.012");
  EXPECT_EQ(reef_of(now).at("attended_run").dump(), R"({"ran_s":30.0,"under_way":true})");
}

TEST(OverviewJson, says_in_words_what_stands_for_a_lost_record) {
  station::Overview now = overview();
  EXPECT_EQ(reef_of(now).at("record"), "whole");
  now.stations[0].given_hour = now.stations[0].given_day = kCountsAsFull;
  const json reef = reef_of(now);
  EXPECT_TRUE(reef.at("given_day_ml").is_null());
  EXPECT_TRUE(reef.at("given_hour_ml").is_null());
  EXPECT_EQ(reef.at("record"),
            "The record of the last 24 h is missing or damaged: they count as full.");
  EXPECT_EQ(reef.dump().find("1000000000"), std::string::npos);
  now.stations[0].ph.value = std::nan("");
  EXPECT_TRUE(reef_of(now).at("ph").at("value").is_null());
}

TEST(OverviewJson, tells_of_pulses_pauses_refusals_and_the_broker) {
  station::Overview now = overview();
  EXPECT_TRUE(json_of(now).at("mqtt").is_null());
  EXPECT_TRUE(reef_of(now).at("last_pulse").is_null());
  EXPECT_TRUE(reef_of(now).at("refused").is_null());
  EXPECT_EQ(reef_of(now).at("pauses"), json::array());
  now.mqtt = station::MqttState{"broker.lan:1883", false, kThen, "the connection broke", kThen};
  now.stations[0].last_given = {kThen, Millilitres{14.04}};
  now.stations[0].given_in_all = Millilitres{1234.56};
  now.stations[0].pauses = {{station::Origin::afar, kThen}};
  now.stations[0].refused = station::Refusal{"stir", "control socket", "Not now.", kThen, 2};
  EXPECT_EQ(json_of(now).at("mqtt"), (json{{"broker", "broker.lan:1883"},
                                           {"connected", false},
                                           {"since", "2026-11-25T07:15:32Z"},
                                           {"last_fault", "the connection broke"},
                                           {"last_fault_time", "2026-11-25T07:15:32Z"}}));
  const json reef = reef_of(now);
  EXPECT_EQ(reef.at("last_pulse").dump(), R"({"ml":14.0,"time":"2026-11-25T07:15:32Z"})");
  EXPECT_EQ(reef.at("given_in_all_ml").dump(), "1234.6");
  EXPECT_EQ(reef.at("pauses").dump(), R"([{"by":"afar","until":"2026-11-25T07:15:32Z"}])");
  EXPECT_EQ(reef.at("refused").at("times"), 2);
}

TEST(OverviewJson, tells_of_upkeep_powder_and_absence) {
  station::Overview now = overview();
  EXPECT_TRUE(reef_of(now).at("powder").is_null());
  EXPECT_TRUE(reef_of(now).at("away").is_null());
  now.stations[0].upkeep = {
      {care::Chore::clean, care::UpkeepItem::State::fine, std::chrono::hours{48}, "Soon."},
      {care::Chore::kit, care::UpkeepItem::State::not_known, {}, "Nothing."}};
  now.stations[0].powder = care::Powder{{59.6, 108.2}, {}, {12.0, 42.0}};
  now.stations[0].away = {kThen, Millilitres{700.04}};
  now.stations[0].in_service = true;
  const json reef = reef_of(now);
  EXPECT_EQ(reef.at("upkeep"),
            (json{{{"chore", "clean"}, {"state", "fine"}, {"due_s", 172800}, {"sentence", "Soon."}},
                  {{"chore", "kit"},
                   {"state", "not-known"},
                   {"due_s", nullptr},
                   {"sentence", "Nothing."}}}));
  EXPECT_EQ(reef.at("powder").dump(),
            R"({"days":null,"left_g":[60.0,108.0],"refill_g":[12.0,42.0]})");
  EXPECT_EQ(reef.at("away").dump(), R"({"ml":700.0,"until":"2026-11-25T07:15:32Z"})");
  EXPECT_EQ(reef.at("in_service"), true);
}

}  // namespace
}  // namespace limegate::web
