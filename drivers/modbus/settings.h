#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <variant>

#include "units/time.h"

namespace limegate::modbus {

enum class Parity { none, even, odd };

/// A serial line (RTU). `path` should be a /dev/serial/by-id name: ttyUSB numbers move.
struct SerialPort {
  std::string path;
  int baud = 9600;
  Parity parity = Parity::none;
  int stop_bits = 1;
};

/// A Modbus TCP gateway or device.
struct TcpPort {
  std::string host;
  int tcp_port = 502;
};

struct BusSettings {
  std::string name;
  std::variant<SerialPort, TcpPort> port;
  /// Longer than the slowest device's whole answer; 1 ms .. 60 s.
  Duration reply_timeout = std::chrono::milliseconds{500};
  /// A silent device, and a port that can't be opened, is left alone for this long, ...
  Duration retry_first = std::chrono::milliseconds{500};
  /// ... doubled at each further failure up to this. Off commands never wait for it.
  Duration retry_max = std::chrono::seconds{10};
};

/// Where in a device's Modbus data model a value lives.
enum class Table { coil, discrete_input, holding_register, input_register };

enum class Encoding { int16, uint16, int32, uint32, float32, bit };

/// Byte order of a 32-bit value in its two registers, named by where the bytes A (highest) to D go.
enum class WordOrder { abcd, cdab, badc, dcba };

/// A value read from a device: `decoded * scale + offset`, and °F to °C after that where asked.
struct ProbeSettings {
  int unit = 1;  ///< 1..247
  Table table = Table::holding_register;
  std::uint16_t address = 0;  ///< as on the wire, counted from 0
  Encoding encoding = Encoding::uint16;
  WordOrder word_order = WordOrder::abcd;
  double scale = 1.0;
  double offset = 0.0;
  enum class Conversion { none, fahrenheit_to_celsius } conversion = Conversion::none;
};

enum class Polarity { active_high, active_low };

/// A coil, discrete input or register that shows or sets a switch.
struct SwitchPoint {
  Table table = Table::coil;
  std::uint16_t address = 0;
  Polarity polarity = Polarity::active_high;  ///< active_low: 0 (or `register_off`) means on
  std::uint16_t register_on = 1;              ///< register tables only
  std::uint16_t register_off = 0;
};

/// The board's own timer: writing n switches on for n * `step`, ended by the board itself.
struct TimedOn {
  std::uint16_t address = 0;  ///< a holding register
  Duration step = std::chrono::milliseconds{100};
};
/// What one register can count.
constexpr int kTimerSteps = 0xFFFF;
/// The longest run that a timer of such steps can end.
[[nodiscard]] constexpr Duration longest(Duration step) { return step * kTimerSteps; }

/// The board switches its outputs off when it has heard nothing for this long.
struct CommunicationLoss {
  std::uint16_t address = 0;  ///< a holding register
  std::uint16_t value = 0;    ///< in the board's own unit; written and read back
};

struct OutletSettings {
  int unit = 1;
  SwitchPoint control;                  ///< coil or holding register
  std::optional<SwitchPoint> feedback;  ///< a separate read-back; absent: `control` is read
  std::optional<TimedOn> timed_on;      ///< absent: the driver's deadline ends it
  std::optional<CommunicationLoss> communication_loss;
};

}  // namespace limegate::modbus
