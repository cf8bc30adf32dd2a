#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include <nlohmann/json.hpp>

#include "mqtt/entity.h"
#include "mqtt/image.h"
#include "station/alert.h"

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

/// The nodes of a description. `format_of` may replace what a row says.
template <class Source, std::size_t N, class FormatOf>
[[nodiscard]] nlohmann::ordered_json nodes_of(const Property<Source> (&rows)[N],
                                              const FormatOf& format_of) {
  using Access = typename Property<Source>::Access;
  nlohmann::ordered_json nodes;
  for (const Property<Source>& row : rows) {
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

/// Alerts in full, with what `$alert` has no room for.
[[nodiscard]] std::string alert_list(const std::vector<station::Alert>& alerts);
[[nodiscard]] std::string unseen_count(const std::vector<station::Alert>& alerts);

}  // namespace limegate::mqtt
