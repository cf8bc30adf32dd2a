#pragma once

#include <string>
#include <vector>

#include "config/config.h"
#include "config/table_reader.h"

namespace limegate::config {

/// Reads one [[bus]].
[[nodiscard]] modbus::BusSettings read_bus(TableReader& reader);

/// Reads the wiring of a station: [station.ph], [station.temperature], [station.pump] and
/// [station.stirrer]. Warnings are what is allowed and should be known.
class WiringReader {
 public:
  WiringReader(const std::vector<modbus::BusSettings>& buses, std::vector<std::string>& warnings)
      : buses_(&buses), warnings_(&warnings) {}

  ProbeWiring probe(TableReader& reader);
  /// An input that shows 0 or 1.
  ProbeWiring input(TableReader& reader);
  OutletWiring outlet(TableReader& reader);

 private:
  std::size_t bus(TableReader& reader);

  const std::vector<modbus::BusSettings>* buses_;
  std::vector<std::string>* warnings_;
};

}  // namespace limegate::config
