#pragma once

#include <string>
#include <vector>

#include "mqtt/image.h"
#include "mqtt/mirror.h"
#include "mqtt/property.h"
#include "mqtt/settings.h"

namespace limegate::mqtt {

/// A device of the tree for which discovery documents are published.
struct Announced {
  std::string id;  ///< the daemon's is the settings' own
  std::string name;
  std::string model;
};

/// What a document is made from beside the device it belongs to.
struct Told {
  const char* node;
  const char* id;
  const char* unit;
  std::string format;  ///< as the description has it: of a number, its bounds "MIN:MAX"
  bool settable;
  Entity entity;
  const char* quality_node = "";  ///< where the entity's quality stands; "" = its own node
};

/// A discovery document of one property: retained, one entity of a hub. Names no other topics than
/// those of the tree. Pure. Fields: MQTT.md, section 8, in its form of one document an entity.
[[nodiscard]] Message document_of(const Settings& settings, const Announced& device,
                                  const Told& told);
/// Whether a hub can do something with it: a number with nothing to choose from is refused there.
[[nodiscard]] bool is_told(const Told& told);

/// The documents of all rows that are told. `format_of` as for the description.
template <class Source, std::size_t N, class FormatOf>
[[nodiscard]] std::vector<Message> documents_of(const Property<Source> (&rows)[N],
                                                const Settings& settings, const Announced& device,
                                                const FormatOf& format_of, const Paths& without) {
  using Access = typename Property<Source>::Access;
  std::vector<Message> documents;
  for (const Property<Source>& row : rows) {
    const bool settable = row.access == Access::settable || row.access == Access::command;
    const Told told{row.node, row.id, row.unit, format_of(row), settable, row.entity};
    if (is_told(told) && without.count(std::string{row.node} + "/" + row.id) == 0) {
      documents.push_back(document_of(settings, device, told));
    }
  }
  return documents;
}

/// The documents of the daemon's own device.
[[nodiscard]] std::vector<Message> root_documents(const Settings& settings);
/// Those of a station's. They depend on what its description depends on.
[[nodiscard]] std::vector<Message> station_documents(const Settings& settings,
                                                     const station::Status& status,
                                                     const Paths& without = {});

}  // namespace limegate::mqtt
