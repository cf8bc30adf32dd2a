#include "config/line_time.h"

#include <algorithm>
#include <chrono>

#include "modbus/decode.h"

namespace limegate::config {
namespace {

/// What a device takes until it answers.
constexpr double kAnswersAfterS = 0.020;

double one_read_s(const modbus::SerialPort& port, int registers) {
  const int bits = 1 + 8 + (port.parity == modbus::Parity::none ? 0 : 1) + port.stop_bits;
  const double character_s = static_cast<double>(bits) / port.baud;
  const double silence_s = port.baud > 19200 ? 0.00175 : 3.5 * character_s;
  constexpr int request = 8;
  return (request + 5 + 2 * registers) * character_s + 2 * silence_s + kAnswersAfterS;
}

}  // namespace

std::pair<double, double> whole_numbers_of(modbus::Encoding encoding) {
  using modbus::Encoding;
  switch (encoding) {
    case Encoding::int16:
      return {-32768.0, 32767.0};
    case Encoding::uint16:
      return {0.0, 65535.0};
    case Encoding::int32:
      return {-2147483648.0, 2147483647.0};
    case Encoding::uint32:
      return {0.0, 4294967295.0};
    case Encoding::bit:
      return {0.0, 1.0};
    case Encoding::float32:
      return {0.0, 0.0};
  }
  return {0.0, 0.0};
}

int baud_of(const modbus::BusSettings& bus) {
  const auto* serial = std::get_if<modbus::SerialPort>(&bus.port);
  return serial == nullptr ? 0 : serial->baud;
}

Duration time_to_read(const modbus::BusSettings& bus, const ProbeWiring& wiring) {
  const auto* port = std::get_if<modbus::SerialPort>(&bus.port);
  return port == nullptr ? Duration::zero()
                         : std::chrono::duration_cast<Duration>(std::chrono::duration<double>{
                               one_read_s(*port, modbus::width_of(wiring.probe))});
}

Duration round_of(const Config& config, std::size_t bus) {
  Duration round = Duration::zero();
  const auto add = [&](const ProbeWiring& wiring) {
    if (wiring.bus == bus) {
      round += time_to_read(config.buses[bus], wiring);
    }
  };
  for (const Station& station : config.stations) {
    if (!station.wiring) {
      continue;
    }
    add(station.wiring->ph);
    add(station.wiring->temperature);
    if (station.wiring->second_ph) {
      add(*station.wiring->second_ph);
    }
    if (station.wiring->stirrer_input) {
      add(*station.wiring->stirrer_input);
    }
    for (const InputWiring& input : station.inputs) {
      if (const auto* probe = std::get_if<ProbeWiring>(&input)) {
        add(*probe);
      }
    }
  }
  return round;
}

}  // namespace limegate::config
