#include "mqtt/station_lists.h"

#include <chrono>

#include <nlohmann/json.hpp>

#include "care/upkeep.h"
#include "mqtt/property.h"
#include "rules/hold.h"
#include "units/iso8601.h"

namespace limegate::mqtt {

std::string pauses_of(const station::Status& status) {
  auto list = nlohmann::ordered_json::array();
  for (const station::Status::Paused& pause : status.pauses) {
    list.push_back({{"by", pause.by == station::Origin::station ? "station" : "afar"},
                    {"until", iso8601(std::chrono::round<std::chrono::seconds>(pause.until))}});
  }
  return text_of(list);
}

std::string holds_of(const station::Status& status) {
  auto list = nlohmann::ordered_json::array();
  for (const station::Status::Held& held : status.holds) {
    list.push_back({{"code", held.code},
                    {"sentence", held.sentence},
                    {"clears", rules::name_of(held.clears)},
                    {"since", iso8601(held.since)}});
  }
  return text_of(list);
}

std::string upkeep_of(const station::Status& status) {
  auto list = nlohmann::ordered_json::array();
  for (const care::UpkeepItem& item : status.upkeep) {
    if (item.state == care::UpkeepItem::State::due) {
      list.push_back({{"chore", care::name_of(item.chore)}, {"sentence", item.sentence}});
    }
  }
  return text_of(list);
}

}  // namespace limegate::mqtt
