#include "mqtt/property.h"

#include <algorithm>
#include <cstdint>

#include "alerts/cloud_event.h"

namespace limegate::mqtt {

std::string versioned(nlohmann::ordered_json document) {
  // FNV-1a, 32 bits: the same document has the same version after every restart.
  std::uint32_t version = 2166136261U;
  for (const char c : document.dump()) {
    version = (version ^ static_cast<unsigned char>(c)) * 16777619U;
  }
  document["version"] = version;
  return document.dump();
}

std::string alert_list(const std::vector<station::Alert>& alerts) {
  // A sentence may carry text from elsewhere (a device's, the system's): never throw over it.
  return alerts::list_of(alerts).dump(-1, ' ', false,
                                      nlohmann::ordered_json::error_handler_t::replace);
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

}  // namespace limegate::mqtt
