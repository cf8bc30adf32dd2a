// Discovery documents as the convention has them (MQTT.md, section 8), made from the same rows as
// the tree.

#include "mqtt/discovery.h"

#include <algorithm>
#include <map>
#include <regex>
#include <set>

#include <gmock/gmock.h>
#include <nlohmann/json.hpp>

#include "mqtt/rig.h"

namespace limegate::mqtt {
namespace {

using nlohmann::json;
using ::testing::AllOf;
using ::testing::Ge;
using ::testing::IsSubsetOf;
using ::testing::Le;

Settings settings() {
  Settings settings = test::Rig::settings(1);
  settings.discovery_prefix = "found/here";
  return settings;
}

station::Status reef() { return test::Rig::overview().stations.front(); }

std::vector<Message> all() {
  auto documents = station_documents(settings(), reef());
  const auto root = root_documents(settings());
  documents.insert(documents.end(), root.begin(), root.end());
  return documents;
}

/// By the path of the property below its device.
std::map<std::string, json> by_path(const std::vector<Message>& documents) {
  std::map<std::string, json> found;
  for (const Message& document : documents) {
    json parsed = json::parse(document.payload);
    std::string id = parsed["unique_id"];
    id.erase(0, id.find('_') + 1);
    id.replace(id.find('_'), 1, "/");
    found.emplace(id, std::move(parsed));
  }
  return found;
}

std::string component_of(const Message& document) {
  const std::string below = document.topic.substr(settings().discovery_prefix.size() + 1);
  return below.substr(0, below.find('/'));
}

/// The fields that section 8 names for each component, and no others.
const std::set<std::string> kOfAll = {"name",         "unique_id",         "qos",
                                      "device_class", "entity_category",   "enabled_by_default",
                                      "availability", "availability_mode", "device",
                                      "origin"};
std::set<std::string> fields_of(const std::string& component) {
  const std::map<std::string, std::set<std::string>> own = {
      {"sensor",
       {"state_topic", "value_template", "unit_of_measurement", "state_class",
        "suggested_display_precision"}},
      {"binary_sensor", {"state_topic", "value_template", "payload_on", "payload_off"}},
      {"switch",
       {"state_topic", "command_topic", "retain", "payload_on", "payload_off", "state_on",
        "state_off"}},
      {"number",
       {"state_topic", "command_topic", "retain", "min", "max", "step", "mode",
        "unit_of_measurement"}},
      {"button", {"command_topic", "retain", "payload_press"}}};
  std::set<std::string> fields = own.at(component);
  fields.insert(kOfAll.begin(), kOfAll.end());
  return fields;
}

TEST(Discovery, has_a_document_for_every_property_that_is_kept_or_set) {
  std::set<std::string> wanted;
  const auto add = [&](const std::string& description) {
    const json parsed = json::parse(description);
    for (const auto& [node, about] : parsed["nodes"].items()) {
      for (const auto& [id, property] : about["properties"].items()) {
        if (property.value("retained", true) || property.value("settable", false)) {
          wanted.insert(std::string{node}.append("/").append(id));
        }
      }
    }
  };
  add(station_description("limegate", reef()));
  std::set<std::string> told;
  for (const auto& [path, document] : by_path(station_documents(settings(), reef()))) {
    told.insert(path);
  }
  EXPECT_EQ(told, wanted);
  wanted.clear();
  told.clear();
  add(root_description({}));
  for (const auto& [path, document] : by_path(root_documents(settings()))) {
    told.insert(path);
  }
  EXPECT_EQ(told, wanted);
}

TEST(Discovery, has_the_topics_and_fields_of_the_convention) {
  const std::regex topic{
      "found/here/(sensor|binary_sensor|switch|number|button)"
      "/[a-zA-Z0-9_-]+/[a-zA-Z0-9_-]+/config"};
  for (const Message& document : all()) {
    SCOPED_TRACE(document.topic + " " + document.payload);
    EXPECT_TRUE(std::regex_match(document.topic, topic));
    EXPECT_EQ(document.kept, Message::Kept::yes);
    EXPECT_LE(document.payload.size(), 2048U) << "some kilobytes at most";
    const json parsed = json::parse(document.payload);
    std::set<std::string> fields;
    for (const auto& [field, value] : parsed.items()) {
      fields.insert(field);
      EXPECT_FALSE(value.is_null() || value == "") << field;
    }
    EXPECT_THAT(fields, IsSubsetOf(fields_of(component_of(document))));
    EXPECT_LE(parsed["name"].get<std::string>().size(), 40U) << "short";
    EXPECT_EQ(parsed["origin"]["name"], "Limegate");
  }
}

TEST(Discovery, names_and_ids_are_the_only_ones_of_their_kind) {
  std::set<std::string> topics, ids, names;
  const auto documents = all();
  for (const Message& document : documents) {
    const json parsed = json::parse(document.payload);
    topics.insert(document.topic);
    ids.insert(parsed["unique_id"]);
    names.insert(parsed["device"]["name"].get<std::string>() + ": " +
                 parsed["name"].get<std::string>());
  }
  EXPECT_EQ(topics.size(), documents.size());
  EXPECT_EQ(ids.size(), documents.size());
  EXPECT_EQ(names.size(), documents.size());
}

TEST(Discovery, ids_are_for_ever_the_same) {
  station::Status other = reef();
  other.day_volume = other.day_volume_at_station = Millilitres{17.5};
  other.ph = {};
  const auto before = station_documents(settings(), reef());
  const auto after = station_documents(settings(), other);
  ASSERT_EQ(before.size(), after.size());
  for (std::size_t i = 0; i < before.size(); ++i) {
    EXPECT_EQ(before[i].topic, after[i].topic);
  }
  // Released ids: a hub's history hangs on them.
  EXPECT_EQ(by_path(before).at("ph/value")["unique_id"], "limegate-reef_ph_value");
  EXPECT_EQ(by_path(before).at("plan/day-volume")["unique_id"], "limegate-reef_plan_day-volume");
  EXPECT_EQ(by_path(root_documents(settings())).at("alerts/unseen")["unique_id"],
            "limegate_alerts_unseen");
}

TEST(Discovery, points_at_the_topics_of_the_tree) {
  const std::string tree = "homie/5/limegate-reef/";
  for (const auto& [path, document] : by_path(station_documents(settings(), reef()))) {
    SCOPED_TRACE(path);
    if (document.contains("state_topic")) {
      EXPECT_EQ(document["state_topic"], tree + path);
    }
    if (document.contains("command_topic")) {
      EXPECT_EQ(document["command_topic"], tree + path + "/set");
      EXPECT_EQ(document["retain"], false);
    }
    EXPECT_EQ(document["device"]["identifiers"], json{"limegate-reef"});
    EXPECT_EQ(document["device"]["via_device"], "limegate");
    EXPECT_EQ(document["availability_mode"], "all");
    EXPECT_EQ(document["availability"][0]["topic"], "homie/5/limegate/$state");
    EXPECT_EQ(document["availability"][1]["topic"], tree + "$state");
    for (const json& one : document["availability"]) {
      EXPECT_EQ(one["payload_available"], "ready");
      EXPECT_EQ(one["payload_not_available"], "lost");
      EXPECT_TRUE(one.contains("value_template")) << "init, disconnected and sleeping are neither";
    }
  }
  const json root = by_path(root_documents(settings())).at("daemon/time");
  EXPECT_FALSE(root["device"].contains("via_device"));
  EXPECT_EQ(root["availability"].size(), 1U);
}

/// Values with their classes as section 8 lists them.
TEST(Discovery, has_the_classes_and_units_of_the_convention) {
  auto told = by_path(station_documents(settings(), reef()));
  EXPECT_EQ(told["ph/value"]["device_class"], "ph");
  EXPECT_EQ(told["temperature/value"]["unit_of_measurement"], "\u00B0C");
  EXPECT_EQ(told["dosing/given-day"]["state_class"], "measurement");
  EXPECT_EQ(told["dosing/given-day"]["unit_of_measurement"], "mL");
  EXPECT_EQ(told["alerts/unseen"]["device_class"], "problem");
  EXPECT_EQ(told["outlets/pump"]["device_class"], "running");
  EXPECT_EQ(told["plan/next-stir"]["device_class"], "timestamp");
  const std::set<std::string> lasting{"s", "min", "h", "d"};
  for (const auto& [path, document] : told) {
    SCOPED_TRACE(path);
    const std::string its_class = document.value("device_class", "");
    const std::string unit = document.value("unit_of_measurement", "");
    EXPECT_NE(unit, "pH") << "pH has no unit at all";
    EXPECT_EQ(its_class == "temperature", unit == "\u00B0C");
    EXPECT_EQ(its_class == "duration", lasting.count(unit) == 1);
    if (its_class == "volume") {
      EXPECT_EQ(unit, "mL");
      EXPECT_EQ(document.value("state_class", ""), path == "dosing/total" ? "total_increasing" : "")
          << "a volume that falls again has no such";
    }
    if (its_class == "timestamp" || its_class == "ph") {
      EXPECT_EQ(unit, "");
    }
  }
}

TEST(Discovery, a_bad_probe_is_not_available_although_its_last_value_stays) {
  const auto told = by_path(station_documents(settings(), reef()));
  for (const std::string node : {"ph", "temperature"}) {
    const json& list = told.at(node + "/value")["availability"];
    ASSERT_EQ(list.size(), 3U);
    EXPECT_EQ(list[2]["topic"], "homie/5/limegate-reef/" + node + "/quality");
  }
  EXPECT_EQ(told.at("ph/quality")["availability"].size(), 2U);
}

TEST(Discovery, the_day_can_be_set_up_to_what_was_set_at_the_station) {
  station::Status status = reef();
  status.day_volume_at_station = Millilitres{2500.25};
  const json number = by_path(station_documents(settings(), status)).at("plan/day-volume");
  EXPECT_EQ(number["min"], 0);
  EXPECT_EQ(number["max"], 2500.25);
  EXPECT_EQ(number["mode"], "box");
  status.day_volume_at_station = Millilitres{0};
  EXPECT_EQ(by_path(station_documents(settings(), status)).count("plan/day-volume"), 0U)
      << "nothing can be chosen";
  const json pause = by_path(station_documents(settings(), status)).at("keeper/pause-minutes");
  EXPECT_EQ(pause["max"], 1440);
}

TEST(Discovery, shows_about_ten_of_a_station_without_being_asked) {
  const auto documents = station_documents(settings(), reef());
  EXPECT_THAT(std::count_if(documents.begin(), documents.end(),
                            [](const Message& document) {
                              return json::parse(document.payload)["enabled_by_default"] == true;
                            }),
              AllOf(Ge(8), Le(12)));
}

}  // namespace
}  // namespace limegate::mqtt
