#include "delivery/envelope.h"

#include <algorithm>

#include <nlohmann/json.hpp>

#include "alerts/message.h"
#include "alerts/record.h"

namespace limegate::delivery {
namespace {

using nlohmann::json;

std::string text_of(const json& object, const char* key) {
  const auto found = object.find(key);
  return found != object.end() && found->is_string() ? found->get<std::string>() : std::string{};
}

alerts::Urgency urgency_of(const std::string& word) {
  using alerts::Urgency;
  for (const Urgency urgency : {Urgency::act_now, Urgency::act_today, Urgency::when_you_can}) {
    if (word == alerts::name_of(urgency)) {
      return urgency;
    }
  }
  return Urgency::act_now;  // what is not understood is not kept back
}

}  // namespace

std::optional<Envelope> envelope_of(std::string_view text) {
  const json event = json::parse(text, nullptr, false);
  if (!event.is_object() || !event.contains("data") || !event["data"].is_object()) {
    return std::nullopt;
  }
  const json& data = event["data"];
  Envelope envelope;
  envelope.id = text_of(event, "id");
  envelope.type = text_of(event, "type");
  envelope.source = text_of(event, "source");
  envelope.time = text_of(event, "time");
  envelope.subject = text_of(data, "subject");
  envelope.text = text_of(data, "text");
  if (envelope.id.empty() || envelope.type.empty()) {
    return std::nullopt;
  }
  const json alerts = data.value("alerts", json::array());
  envelope.for_everyone = !alerts.is_array() || alerts.empty();
  bool first = true;
  for (const json& alert : alerts.is_array() ? alerts : json::array()) {
    if (!alert.is_object()) {
      continue;
    }
    if (std::exchange(first, false)) {
      envelope.station = text_of(alert, "station");
      envelope.alert = text_of(alert, "id");
      envelope.urgency = urgency_of(text_of(alert, "urgency"));
    }
    const bool stands =
        text_of(alert, "state") != alerts::name_of(alerts::State::returned_unacknowledged);
    (stands ? envelope.numbers : envelope.over).push_back(text_of(alert, "number"));
  }
  return envelope;
}

}  // namespace limegate::delivery
