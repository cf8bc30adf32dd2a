#pragma once

#include <string>
#include <vector>

#include "config/config.h"

namespace limegate::config {

/// An outlet that the daemon switches. Lives no longer than the config it points into.
struct Outlet {
  const Station* station;
  const char* what;  ///< "pump" or "stirrer"
  const OutletWiring* wiring;
};

/// All of them in the file's order, each station's pump first. None of a simulated station.
[[nodiscard]] std::vector<Outlet> outlets_of(const Config& config);

/// A bus's port as its file names it: "/dev/ttyUSB0" or "192.168.10.20:502".
[[nodiscard]] std::string port_of(const modbus::BusSettings& bus);

/// The place behind a port that is switched: "192.168.10.20:502, unit 2, coil 0".
[[nodiscard]] std::string switch_point_of(const std::string& port, const OutletWiring& outlet);
/// The same by the port's name in the file.
[[nodiscard]] std::string switch_point_of(const Config& config, const OutletWiring& outlet);

}  // namespace limegate::config
