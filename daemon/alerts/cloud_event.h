#pragma once

#include <string>
#include <vector>

#include <nlohmann/json_fwd.hpp>

#include "alerts/message.h"
#include "station/alert.h"

namespace limegate::alerts {

/// The schema of the messages' data: JSON Schema 2020-12, daemon/alerts/alert.schema.json.
constexpr const char* kSchemaUri = "urn:limegate:alert-message:1";

/// A message as a CloudEvent 1.0 in JSON (structured mode). `source` = a URI reference that names
/// this daemon; with the id it is unique, so that a receiver can drop doubles.
[[nodiscard]] std::string cloud_event(const Message& message, const std::string& source);

/// Alerts as MQTT and the control socket show them.
[[nodiscard]] nlohmann::ordered_json list_of(const std::vector<station::Alert>& alerts);

}  // namespace limegate::alerts
