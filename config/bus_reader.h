#pragma once

#include <set>
#include <string>
#include <vector>

#include "config/config.h"
#include "config/table_reader.h"

namespace limegate::config {

/// Reads one [[bus]].
[[nodiscard]] modbus::BusSettings read_bus(TableReader& reader);

/// Reads the wiring of a station: [station.ph], [station.temperature], [station.pump],
/// [station.stirrer] and the inputs. Warnings are what is allowed and should be known.
class WiringReader {
 public:
  enum class Broker { none, given };
  WiringReader(const std::vector<modbus::BusSettings>& buses, Broker broker,
               std::vector<std::string>& warnings)
      : buses_(&buses), broker_(broker), warnings_(&warnings) {}

  ProbeWiring probe(TableReader& reader);
  /// An input that shows 0 or 1.
  ProbeWiring input(TableReader& reader);
  OutletWiring outlet(TableReader& reader);
  /// Whether one was named that is not there.
  [[nodiscard]] bool misses_a_bus() const { return !missed_.empty(); }
  [[nodiscard]] bool has_broker() const { return broker_ == Broker::given; }

 private:
  std::size_t bus(TableReader& reader);

  const std::vector<modbus::BusSettings>* buses_;
  Broker broker_;
  std::vector<std::string>* warnings_;
  std::set<std::string> missed_;  ///< names that no bus has
};

}  // namespace limegate::config
