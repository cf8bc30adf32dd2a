#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include <nlohmann/json.hpp>

#include "mqtt/entity.h"
#include "mqtt/image.h"
#include "station/alert.h"
#include "station/records.h"

namespace limegate::mqtt {

/// One property of a device: how it is described, what a hub is told of it, and how its payload is
/// made from `Source`. The rows of a node stand together.
template <class Source>
struct Property {
  const char* node;
  const char* id;
  const char* name;
  const char* datatype;
  const char* format;  ///< "" = none
  const char* unit;    ///< "" = none
  /// command: settable, never retained; news: not settable, never retained
  enum class Access { shown, settable, command, news } access;
  Entity entity;
  std::optional<std::string> (*payload)(const Source&);  ///< null: never published by itself
};

/// For people: the name of a node by its id.
[[nodiscard]] const char* node_name(std::string_view id);

/// The nodes of a description. `format_of` may replace what a row says.
template <class Source, std::size_t N, class FormatOf>
[[nodiscard]] nlohmann::ordered_json nodes_of(const Property<Source> (&rows)[N],
                                              const FormatOf& format_of, const Paths& without) {
  using Access = typename Property<Source>::Access;
  nlohmann::ordered_json nodes;
  for (const Property<Source>& row : rows) {
    if (without.count(std::string{row.node} + "/" + row.id) > 0) {
      continue;
    }
    nlohmann::ordered_json property{{"name", row.name}, {"datatype", row.datatype}};
    if (const std::string format = format_of(row); !format.empty()) {
      property["format"] = format;
    }
    if (*row.unit != '\0') {
      property["unit"] = row.unit;
    }
    if (row.access == Access::settable || row.access == Access::command) {
      property["settable"] = true;
    }
    if (row.access == Access::command || row.access == Access::news) {
      property["retained"] = false;
    }
    nodes[row.node]["name"] = node_name(row.node);
    nodes[row.node]["properties"][row.id] = property;
  }
  return nodes;
}

template <class Source, std::size_t N>
[[nodiscard]] std::vector<Value> values_of(const Property<Source> (&rows)[N],
                                           const Source& source) {
  std::vector<Value> values;
  values.reserve(N);
  for (const Property<Source>& row : rows) {
    if (row.payload != nullptr) {
      values.push_back({row.node, row.id, row.payload(source)});
    }
  }
  return values;
}

/// The document as text, with a version made from all the rest of it.
[[nodiscard]] std::string versioned(nlohmann::ordered_json document);

/// JSON as it is published.
[[nodiscard]] std::string text_of(const nlohmann::ordered_json& document);
/// Alerts in full, with what `$alert` has no room for.
[[nodiscard]] std::string alert_list(const std::vector<station::Alert>& alerts);
/// The last command that was refused; an object without a member: none was.
[[nodiscard]] std::string refusal_object(const std::optional<station::Refusal>& refused);
/// The last event that was told; an object without a member: none was.
[[nodiscard]] std::string event_object(const std::optional<station::Event>& event);
[[nodiscard]] std::string unseen_count(const std::vector<station::Alert>& alerts);

}  // namespace limegate::mqtt
