// What stands on the broker of a station.

#include <algorithm>
#include <chrono>
#include <optional>
#include <string>
#include <vector>

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "mqtt/image.h"

namespace limegate::mqtt {
namespace {

/// What stands at "node/property"; absent: whatever was shown last.
std::optional<std::string> payload_of(const station::Status& status, const std::string& path) {
  const std::vector<Value> values = station_values(status);
  const auto found = std::find_if(values.begin(), values.end(), [&](const Value& value) {
    return std::string{value.node} + "/" + value.property == path;
  });
  return found == values.end() ? std::nullopt : found->payload;
}

TEST(StationImage, says_of_a_second_probe_that_it_is_bad) {
  station::Status status;
  status.station = "reef";
  status.ph.value = 8.2;
  status.ph.quality = signal::Quality::good;
  status.ph.reason = signal::Reason::none;
  status.second_ph = status.ph;
  EXPECT_EQ(payload_of(status, "ph/second"), "8.200");
  EXPECT_EQ(payload_of(status, "ph/second-quality"), "good");
  status.second_ph->quality = signal::Quality::bad;
  status.second_ph->reason = signal::Reason::stale;
  EXPECT_EQ(payload_of(status, "ph/second"), std::nullopt) << "what it showed last stays";
  EXPECT_EQ(payload_of(status, "ph/second-quality"), "bad");
  status.second_ph.reset();
  EXPECT_EQ(payload_of(status, "ph/second"), "") << "there is none";
  EXPECT_EQ(payload_of(status, "ph/second-quality"), "");
}

station::Status at(WallTime wall) {
  station::Status status;
  status.at.wall = wall;
  return status;
}

constexpr WallTime kNow{std::chrono::seconds{1795590932}};  // 2026-11-25T07:15:32Z

TEST(StationImage, tells_when_the_next_pulse_is_and_never_a_text) {
  station::Status status = at(kNow);
  EXPECT_EQ(payload_of(status, "plan/next-pulse"), std::nullopt) << "nothing is given";
  status.pulse_volume = Millilitres{14.0};
  status.next_window_in = std::chrono::minutes{50};
  EXPECT_EQ(payload_of(status, "plan/next-pulse"), "2026-11-25T08:05:32Z") << "at the earliest";
  status.next_pulse_in = std::chrono::minutes{4};
  EXPECT_EQ(payload_of(status, "plan/next-pulse"), "2026-11-25T07:19:32Z");
}

TEST(StationImage, tells_of_the_last_pulse_and_of_all_of_them) {
  station::Status status = at(kNow);
  status.given_in_all.reset();
  EXPECT_EQ(payload_of(status, "dosing/last-pulse"), "");
  EXPECT_EQ(payload_of(status, "dosing/last-pulse-volume"), "");
  EXPECT_EQ(payload_of(status, "dosing/total"), "") << "the record is lost";
  status.last_given = {kNow, Millilitres{14.04}};
  status.given_in_all = Millilitres{12345.67};
  EXPECT_EQ(payload_of(status, "dosing/last-pulse"), "2026-11-25T07:15:32Z");
  EXPECT_EQ(payload_of(status, "dosing/last-pulse-volume"), "14.0");
  EXPECT_EQ(payload_of(status, "dosing/total"), "12345.7");
}

TEST(StationImage, tells_who_paused_and_until_when) {
  station::Status status = at(kNow);
  EXPECT_EQ(payload_of(status, "keeper/pauses"), "[]");
  status.pauses = {{station::Origin::station, kNow + std::chrono::hours{2}},
                   {station::Origin::afar, kNow + std::chrono::minutes{10}}};
  EXPECT_EQ(payload_of(status, "keeper/pauses"),
            R"([{"by":"station","until":"2026-11-25T09:15:32Z"},)"
            R"({"by":"afar","until":"2026-11-25T07:25:32Z"}])");
}

TEST(StationImage, tells_of_the_last_event) {
  station::Status status = at(kNow);
  EXPECT_EQ(payload_of(status, "events/last"), "{}");
  status.last_event =
      station::Event{kNow, station::Severity::info, "pulse-given", "Dosed 14.0 mL."};
  EXPECT_EQ(payload_of(status, "events/last"),
            R"({"time":"2026-11-25T07:15:32Z","severity":"info","code":"pulse-given",)"
            R"("sentence":"Dosed 14.0 mL."})");
}

TEST(StationImage, keeps_the_rise_of_a_bad_probe_and_not_of_one_that_is_not_known) {
  station::Status status = at(kNow);
  status.reference = Ph{8.1};
  EXPECT_EQ(payload_of(status, "ph/rise"), "") << "the usual course is not learned";
  status.usual_ph = Ph{8.2};
  EXPECT_EQ(payload_of(status, "ph/rise"), std::nullopt) << "the pH is bad just now";
  status.above_reference = PhChange{-0.0001};
  EXPECT_EQ(payload_of(status, "ph/rise"), "0.000") << "and never -0";
}

TEST(StationImage, has_a_name_for_every_node) {
  station::Status status = at(kNow);
  status.inputs = {{"sump-low", "", rules::Input::Kind::digital, std::nullopt, {}}};
  for (const std::string& text : {station_description("limegate", status), root_description({})}) {
    const nlohmann::json described = nlohmann::json::parse(text);
    ASSERT_FALSE(described.at("nodes").empty());
    for (const auto& [id, node] : described.at("nodes").items()) {
      EXPECT_NE(node.value("name", ""), "") << id;
    }
  }
}

TEST(StationImage, begins_once_each_probe_and_input_has_spoken) {
  station::Status status = at(kNow);
  status.ph.reason = status.temperature.reason = signal::Reason::stale;
  EXPECT_TRUE(has_begun(status)) << "it spoke once";
  status.temperature.reason = signal::Reason::missing;
  EXPECT_FALSE(has_begun(status));
  status.temperature.reason = signal::Reason::none;
  status.second_ph = signal::Reading{};
  EXPECT_FALSE(has_begun(status)) << "the second one did not";
  status.second_ph.reset();
  status.inputs = {{"sump-low", "", rules::Input::Kind::digital, std::nullopt, {}}};
  EXPECT_FALSE(has_begun(status)) << "an input did not";
}

TEST(StationImage, an_input_that_is_not_known_any_more_keeps_its_value_and_is_bad) {
  station::Status status = at(kNow);
  status.inputs = {{"sump-low", "", rules::Input::Kind::digital, 1.0, {}}};
  EXPECT_EQ(payload_of(status, "inputs/sump-low"), "true");
  EXPECT_EQ(payload_of(status, "inputs-quality/sump-low"), "good");
  const std::string before = urgent_part(status);
  status.inputs[0].value.reset();
  EXPECT_EQ(payload_of(status, "inputs/sump-low"), std::nullopt);
  EXPECT_EQ(payload_of(status, "inputs-quality/sump-low"), "bad");
  EXPECT_NE(urgent_part(status), before) << "at once";
}

TEST(StationImage, tells_of_the_last_command_that_was_refused) {
  station::Status status;
  EXPECT_EQ(payload_of(status, "keeper/refused"), "{}") << "none was";
  const std::string before = urgent_part(status);
  status.refused = station::Refusal{"plan/day-volume", "MQTT", "'nan' is not a \"number\".",
                                    WallTime{std::chrono::seconds{1795590932}}, 3};
  EXPECT_EQ(payload_of(status, "keeper/refused"),
            R"({"what":"plan/day-volume","by":"MQTT","why":"'nan' is not a \"number\".",)"
            R"("time":"2026-11-25T07:15:32Z","times":3})");
  EXPECT_NE(urgent_part(status), before) << "it is published at once";
}

}  // namespace
}  // namespace limegate::mqtt
