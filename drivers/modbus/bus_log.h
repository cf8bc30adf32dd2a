#pragma once

#include <memory>

namespace spdlog {
class logger;
}

namespace limegate::modbus {

/// The logger named "bus" where the program made one, else the default logger. Thread-safe.
[[nodiscard]] std::shared_ptr<spdlog::logger> bus_log();

}  // namespace limegate::modbus
