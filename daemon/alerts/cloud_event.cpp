#include "alerts/cloud_event.h"

#include <nlohmann/json.hpp>

#include "units/iso8601.h"

namespace limegate::alerts {
namespace {

using nlohmann::ordered_json;

ordered_json json_of(const Message::Item& item) {
  return {{"station", item.station},
          {"id", item.id},
          {"number", item.number},
          {"state", item.state},
          {"urgency", name_of(item.urgency)},
          {"latched", item.latched},
          {"since", iso8601(item.since)},
          {"came", item.came},
          {"sentence", item.sentence},
          {"cost", item.cost},
          {"consequence", item.consequence},
          {"action", item.action},
          {"may_wait_min", std::chrono::duration_cast<std::chrono::minutes>(item.may_wait).count()},
          {"explains", item.explains}};
}

}  // namespace

std::string cloud_event(const Message& message, const std::string& source) {
  ordered_json alerts = ordered_json::array();
  for (const Message::Item& item : message.alerts) {
    alerts.push_back(json_of(item));
  }
  ordered_json event{{"specversion", "1.0"},
                     {"id", message.id},
                     {"source", source},
                     {"type", std::string{"limegate.alert."} + name_of(message.type)},
                     {"time", iso8601(message.at)},
                     {"datacontenttype", "application/json"},
                     {"dataschema", kSchemaUri}};
  if (!message.alerts.empty()) {
    const Message::Item& first = message.alerts.front();
    event["subject"] = (first.station.empty() ? "daemon" : first.station) + "/" + first.id;
  }
  event["data"] = {{"subject", message.subject}, {"text", message.text}, {"alerts", alerts}};
  // A sentence may carry text from elsewhere (a device's, the system's): never throw over it.
  return event.dump(-1, ' ', false, ordered_json::error_handler_t::replace);
}

ordered_json list_of(const std::vector<station::Alert>& alerts) {
  auto list = ordered_json::array();
  for (const station::Alert& alert : alerts) {
    ordered_json one{{"id", alert.id},
                     {"sentence", alert.sentence},
                     {"since", iso8601(alert.since)},
                     {"state", alert.state},
                     {"urgency", alert.urgency},
                     {"latched", alert.latched},
                     {"seen", alert.seen == station::Alert::Seen::yes},
                     {"consequence", alert.consequence},
                     {"action", alert.action}};
    if (alert.shelved_until) {
      one["shelved"] = {{"until", iso8601(*alert.shelved_until)},
                        {"by", alert.shelved_by},
                        {"because", alert.shelved_because}};
    }
    list.push_back(std::move(one));
  }
  return list;
}

}  // namespace limegate::alerts
