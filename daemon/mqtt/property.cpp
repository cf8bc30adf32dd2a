#include "mqtt/property.h"

#include <algorithm>
#include <cstdint>
#include <cstdlib>
#include <iterator>

#include "alerts/cloud_event.h"
#include "units/iso8601.h"

namespace limegate::mqtt {
namespace {

struct NodeName {
  const char* id;
  const char* name;
};
constexpr NodeName kNodeNames[] = {{"ph", "pH"},
                                   {"temperature", "Temperature"},
                                   {"gate", "Gate"},
                                   {"dosing", "Dosing"},
                                   {"plan", "Plan"},
                                   {"outlets", "Outlets"},
                                   {"keeper", "Keeper"},
                                   {"alerts", "Alerts"},
                                   {"events", "Events"},
                                   {"daemon", "Daemon"},
                                   {"upkeep", "Upkeep"},
                                   {"inputs", "Inputs"},
                                   {"inputs-quality", "Quality of inputs"}};

}  // namespace

const char* node_name(std::string_view id) {
  const auto* const known = std::find_if(std::begin(kNodeNames), std::end(kNodeNames),
                                         [&](const NodeName& one) { return one.id == id; });
  return known == std::end(kNodeNames) ? "" : known->name;
}

std::string versioned(nlohmann::ordered_json document) {
  // FNV-1a, 32 bits: the same document has the same version after every restart.
  std::uint32_t version = 2166136261U;
  for (const char c : document.dump()) {
    version = (version ^ static_cast<unsigned char>(c)) * 16777619U;
  }
  document["version"] = version;
  return document.dump();
}

std::string text_of(const nlohmann::ordered_json& document) {
  // A sentence may carry text from elsewhere (a device's, the system's): never throw over it.
  return document.dump(-1, ' ', false, nlohmann::ordered_json::error_handler_t::replace);
}

std::string alert_list(const std::vector<station::Alert>& alerts) {
  return text_of(alerts::list_of(alerts));
}

std::string refusal_object(const std::optional<station::Refusal>& refused) {
  auto object = nlohmann::ordered_json::object();
  if (refused) {
    object = {{"what", refused->what},
              {"by", refused->by},
              {"why", refused->why},
              {"time", iso8601(refused->at)},
              {"times", refused->times}};
  }
  return text_of(object);
}

std::string event_object(const std::optional<station::Event>& event) {
  auto object = nlohmann::ordered_json::object();
  if (event) {
    object = {{"time", iso8601(event->at)},
              {"severity", station::name_of(event->severity)},
              {"code", event->code},
              {"sentence", event->sentence}};
  }
  return text_of(object);
}

std::string unseen_count(const std::vector<station::Alert>& alerts) {
  return std::to_string(std::count_if(
      alerts.begin(), alerts.end(),
      [](const station::Alert& alert) { return alert.seen == station::Alert::Seen::no; }));
}

std::vector<std::pair<std::string, std::string>> shown(const std::vector<station::Alert>& alerts) {
  std::vector<std::pair<std::string, std::string>> list;
  list.reserve(alerts.size());
  for (const station::Alert& alert : alerts) {
    list.emplace_back(alert.id, alert.sentence);
  }
  return list;
}

std::string urgent_part(const std::vector<station::Alert>& alerts) {
  std::string text;
  for (const station::Alert& alert : alerts) {
    text += alert.id + alert.state + alert.sentence;
  }
  return text;
}

std::string urgent_part(const std::optional<station::Refusal>& refused) {
  return refused ? refused->what + refused->why + std::to_string(refused->times) + ',' : "";
}

}  // namespace limegate::mqtt
