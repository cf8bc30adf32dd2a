#include "mqtt/discovery.h"

#include <charconv>
#include <string_view>

#include "mqtt/payload.h"

namespace limegate::mqtt {
namespace {

using nlohmann::ordered_json;

constexpr int kQos = 1;  // as everything is published
/// Volumes are shown to a tenth of a millilitre; so fine can one be chosen.
constexpr double kVolumeStep = 0.1;
constexpr double kStep = 1;

const char* component_of(Entity::Component component) {
  switch (component) {
    case Entity::Component::sensor:
      return "sensor";
    case Entity::Component::binary_sensor:
      return "binary_sensor";
    case Entity::Component::toggle:
      return "switch";
    case Entity::Component::number:
      return "number";
    case Entity::Component::button:
      return "button";
    case Entity::Component::none:
      break;
  }
  std::abort();
}

/// Of all that a state or a quality can be, one word is "ready" and the rest "lost".
ordered_json availability(const std::string& topic, const char* value_template) {
  return {{"topic", topic},
          {"payload_available", "ready"},
          {"payload_not_available", "lost"},
          {"value_template", value_template}};
}

ordered_json availability_of(const Settings& settings, const Announced& device, const Told& told) {
  constexpr const char* ready = "{{ 'ready' if value == 'ready' else 'lost' }}";
  auto list = ordered_json::array();
  list.push_back(availability(base_of(settings) + "/" + settings.device + "/$state", ready));
  const std::string own = base_of(settings) + "/" + device.id;
  if (device.id != settings.device) {
    list.push_back(availability(own + "/$state", ready));
  }
  if (*told.entity.quality != '\0') {
    // A bad probe's topic keeps its last value, and a hub would show it as if nothing were wrong.
    const std::string node = *told.quality_node == '\0' ? told.node : told.quality_node;
    list.push_back(availability(own + "/" + node + "/" + told.entity.quality,
                                "{{ 'lost' if value == 'bad' else 'ready' }}"));
  }
  return list;
}

ordered_json device_of(const Settings& settings, const Announced& device) {
  ordered_json described{{"identifiers", {device.id}},
                         {"name", device.name},
                         {"model", device.model},
                         {"sw_version", LIMEGATE_VERSION}};
  if (device.id != settings.device) {
    described["via_device"] = settings.device;
  }
  return described;
}

struct Bounds {
  double min = 0, max = 0;
};

Bounds bounds_of(const std::string& format) {
  Bounds bounds;
  const char* const end = format.data() + format.size();
  const char* const colon = std::from_chars(format.data(), end, bounds.min).ptr;
  if (colon != end) {
    std::from_chars(colon + 1, end, bounds.max);
  }
  return bounds;
}

void add_number(ordered_json& document, const Told& told) {
  const Bounds bounds = bounds_of(told.format);
  document["min"] = bounds.min;
  document["max"] = bounds.max;
  document["step"] = std::string_view{told.unit} == "mL" ? kVolumeStep : kStep;
  document["mode"] = "box";
}

void add_payloads(ordered_json& document, const Told& told) {
  const auto component = told.entity.component;
  if (component == Entity::Component::toggle || component == Entity::Component::binary_sensor) {
    document["payload_on"] = "true";
    document["payload_off"] = "false";
  }
  if (component == Entity::Component::toggle) {
    document["state_on"] = "true";
    document["state_off"] = "false";
  }
  if (component == Entity::Component::number) {
    add_number(document, told);
  }
  if (component == Entity::Component::button) {
    document["payload_press"] = "all";
  }
}

void add_looks(ordered_json& document, const Told& told) {
  const auto add = [&](const char* key, const std::string& text) {
    if (!text.empty()) {
      document[key] = text;
    }
  };
  const std::string unit = told.unit;
  add("unit_of_measurement", unit == "pH" ? "" : unit);  // pH has no unit there at all
  add("device_class", told.entity.device_class);
  add("state_class", told.entity.state_class);
  add("value_template", told.entity.value_template);
  add("entity_category", told.entity.category);
  if (told.entity.precision >= 0) {
    document["suggested_display_precision"] = told.entity.precision;
  }
  document["enabled_by_default"] = told.entity.enabled;
}

}  // namespace

bool is_told(const Told& told) {
  if (told.entity.component == Entity::Component::number) {
    const Bounds bounds = bounds_of(told.format);
    return bounds.min < bounds.max;
  }
  return told.entity.component != Entity::Component::none;
}

Message document_of(const Settings& settings, const Announced& device, const Told& told) {
  const std::string id = device.id + "_" + told.node + "_" + told.id;
  const std::string topic = base_of(settings) + "/" + device.id + "/" + told.node + "/" + told.id;
  ordered_json document{{"name", told.entity.name}, {"unique_id", id}};
  if (told.entity.component != Entity::Component::button) {
    document["state_topic"] = topic;
  }
  if (told.settable) {
    document["command_topic"] = topic + "/set";
    document["retain"] = false;  // a kept command may be of any age, and is dropped
  }
  document["qos"] = kQos;
  add_looks(document, told);
  add_payloads(document, told);
  document["availability_mode"] = "all";
  document["availability"] = availability_of(settings, device, told);
  document["device"] = device_of(settings, device);
  document["origin"] = {{"name", "Limegate"}, {"sw_version", LIMEGATE_VERSION}};
  // All of a daemon below one level, so that what an earlier life left there is found by it.
  return {settings.discovery_prefix + "/" + component_of(told.entity.component) + "/" +
              settings.device + "/" + id + "/config",
          document.dump()};
}

}  // namespace limegate::mqtt
