#include "modbus/bus_log.h"

#include <spdlog/spdlog.h>

namespace limegate::modbus {

std::shared_ptr<spdlog::logger> bus_log() {
  auto log = spdlog::get("bus");
  return log ? log : spdlog::default_logger();
}

}  // namespace limegate::modbus
