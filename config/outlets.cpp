#include "config/outlets.h"

#include <variant>

#include <fmt/format.h>

namespace limegate::config {

std::vector<Outlet> outlets_of(const Config& config) {
  std::vector<Outlet> outlets;
  for (const Station& station : config.stations) {
    if (!station.wiring) {
      continue;
    }
    outlets.push_back({&station, "pump", &station.wiring->pump});
    if (station.wiring->stirrer_outlet) {
      outlets.push_back({&station, "stirrer", &*station.wiring->stirrer_outlet});
    }
  }
  return outlets;
}

std::string port_of(const modbus::BusSettings& bus) {
  if (const auto* serial = std::get_if<modbus::SerialPort>(&bus.port)) {
    return serial->path;
  }
  const auto& tcp = std::get<modbus::TcpPort>(bus.port);
  return fmt::format("{}:{}", tcp.host, tcp.tcp_port);
}

std::string switch_point_of(const std::string& port, const OutletWiring& outlet) {
  const modbus::SwitchPoint& point = outlet.outlet.control;
  return fmt::format("{}, unit {}, {} {}", port, outlet.outlet.unit,
                     point.table == modbus::Table::coil ? "coil" : "register", point.address);
}

std::string switch_point_of(const Config& config, const OutletWiring& outlet) {
  return switch_point_of(port_of(config.buses[outlet.bus]), outlet);
}

}  // namespace limegate::config
