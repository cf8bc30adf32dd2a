#include "config/bus_reader.h"

#include <algorithm>
#include <array>
#include <chrono>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "config/nearest.h"

namespace limegate::config {
namespace {

constexpr std::int64_t kAddressMax = 65535;

modbus::SwitchPoint read_point(
    TableReader& reader, const std::string& prefix,
    std::initializer_list<std::pair<std::string_view, modbus::Table>> tables) {
  modbus::SwitchPoint point;
  point.table = reader.choice<modbus::Table>(prefix + "table", tables);
  point.address = static_cast<std::uint16_t>(reader.integer(prefix + "address", 0, kAddressMax));
  point.polarity = reader.flag(prefix + "active_low", false) ? modbus::Polarity::active_low
                                                             : modbus::Polarity::active_high;
  point.register_on =
      static_cast<std::uint16_t>(reader.integer(prefix + "on_value", 0, kAddressMax, 1));
  point.register_off =
      static_cast<std::uint16_t>(reader.integer(prefix + "off_value", 0, kAddressMax, 0));
  if (point.register_on == point.register_off) {
    reader.complain(prefix + "on_value", "must differ from " + prefix + "off_value");
  }
  return point;
}

}  // namespace

modbus::BusSettings read_bus(TableReader& reader) {
  modbus::BusSettings bus;
  bus.name = reader.text("name");
  enum class Kind { serial, tcp };
  const Kind kind =
      reader.needed_choice<Kind>("type", {{"modbus-rtu", Kind::serial}, {"modbus-tcp", Kind::tcp}});
  if (reader.told_of("type")) {
    reader.leave();
  } else if (kind == Kind::serial) {
    modbus::SerialPort port;
    port.path = reader.text("path");
    port.baud = static_cast<int>(reader.integer("baud", 1200, 921600, 9600));
    // libmodbus would take any other rate for 9600 without a word.
    constexpr std::array rates{1200,  2400,   4800,   9600,   19200, 38400,
                               57600, 115200, 230400, 460800, 921600};
    if (std::find(rates.begin(), rates.end(), port.baud) == rates.end()) {
      reader.complain("baud", fmt::format("{} is no standard rate; allowed: {}", port.baud,
                                          fmt::join(rates, ", ")));
    }
    port.parity = reader.choice<modbus::Parity>("parity", {{"none", modbus::Parity::none},
                                                           {"even", modbus::Parity::even},
                                                           {"odd", modbus::Parity::odd}});
    port.stop_bits = static_cast<int>(reader.integer("stop_bits", 1, 2, 1));
    bus.port = port;
  } else {
    modbus::TcpPort port;
    port.host = reader.text("host");
    port.tcp_port = static_cast<int>(reader.integer("tcp_port", 1, 65535, 502));
    bus.port = port;
  }
  bus.reply_timeout = std::chrono::milliseconds{reader.integer("reply_timeout_ms", 20, 5000, 500)};
  reader.finish();
  return bus;
}

std::size_t WiringReader::bus(TableReader& reader) {
  const std::string name = reader.text("bus");
  std::vector<std::string> names;
  for (std::size_t i = 0; i < buses_->size(); ++i) {
    if ((*buses_)[i].name == name) {
      return i;
    }
    names.push_back((*buses_)[i].name);
  }
  // Told once; and a bus whose own name can't be read may be the one that is meant.
  const bool all_named = std::find(names.begin(), names.end(), "") == names.end();
  if (!name.empty() && missed_.insert(name).second && all_named) {
    const std::string near = nearest(name, names);
    reader.complain("bus", "no [[bus]] is named '" + name + "'" +
                               (near.empty() ? "" : "; did you mean '" + near + "'?"));
  }
  return 0;
}

ProbeWiring WiringReader::probe(TableReader& reader) {
  using modbus::Encoding;
  using modbus::Table;
  using modbus::WordOrder;
  ProbeWiring wiring;
  wiring.bus = bus(reader);
  modbus::ProbeSettings& probe = wiring.probe;
  probe.unit = static_cast<int>(reader.integer("unit", 1, 247));
  probe.table = reader.choice<Table>("table", {{"holding_register", Table::holding_register},
                                               {"input_register", Table::input_register}});
  probe.address = static_cast<std::uint16_t>(reader.integer("address", 0, kAddressMax));
  probe.encoding = reader.choice<Encoding>("encoding", {{"uint16", Encoding::uint16},
                                                        {"int16", Encoding::int16},
                                                        {"uint32", Encoding::uint32},
                                                        {"int32", Encoding::int32},
                                                        {"float32", Encoding::float32}});
  probe.word_order = reader.choice<WordOrder>("word_order", {{"abcd", WordOrder::abcd},
                                                             {"cdab", WordOrder::cdab},
                                                             {"badc", WordOrder::badc},
                                                             {"dcba", WordOrder::dcba}});
  probe.scale = reader.number("scale", {-1e6, 1e6}, 1.0);
  probe.offset = reader.number("offset", {-1e6, 1e6}, 0.0);
  if (probe.scale == 0.0) {
    reader.complain("scale", "must not be zero: every reading would be the same");
  }
  return wiring;
}

ProbeWiring WiringReader::input(TableReader& reader) {
  using modbus::Table;
  ProbeWiring wiring;
  wiring.bus = bus(reader);
  wiring.probe.unit = static_cast<int>(reader.integer("unit", 1, 247));
  wiring.probe.table = reader.choice<Table>(
      "table", {{"discrete_input", Table::discrete_input}, {"coil", Table::coil}});
  wiring.probe.address = static_cast<std::uint16_t>(reader.integer("address", 0, kAddressMax));
  wiring.probe.encoding = modbus::Encoding::bit;
  if (reader.flag("active_low", false)) {
    wiring.probe.scale = -1.0;
    wiring.probe.offset = 1.0;
  }
  return wiring;
}

OutletWiring WiringReader::outlet(TableReader& reader) {
  using modbus::Table;
  OutletWiring wiring;
  wiring.bus = bus(reader);
  modbus::OutletSettings& outlet = wiring.outlet;
  outlet.unit = static_cast<int>(reader.integer("unit", 1, 247));
  outlet.control = read_point(
      reader, "", {{"coil", Table::coil}, {"holding_register", Table::holding_register}});
  if (reader.has("feedback_address")) {
    outlet.feedback = read_point(reader, "feedback_",
                                 {{"discrete_input", Table::discrete_input},
                                  {"coil", Table::coil},
                                  {"holding_register", Table::holding_register},
                                  {"input_register", Table::input_register}});
  }
  const auto timer = reader.maybe_integer("timed_on_register", 0, kAddressMax);
  if (reader.has("timed_on_register")) {
    outlet.timed_on = modbus::TimedOn{
        static_cast<std::uint16_t>(timer.value_or(0)),
        std::chrono::milliseconds{reader.integer("timed_on_step_ms", 1, 60000, 100)}};
  }
  const bool allow_untimed = reader.flag("allow_untimed", false) || reader.told_of("allow_untimed");
  if (!outlet.timed_on && !allow_untimed) {
    reader.complain("timed_on_register",
                    "is missing. Name the register by which the board itself ends a pulse; a board "
                    "without one stays on if this computer dies, and needs 'allow_untimed = true'");
  } else if (!outlet.timed_on) {
    warnings_->push_back(
        reader.path() +
        ": the board has no timer of its own. If this computer hangs while the "
        "outlet is on, it stays on until 'limegate off' or a person ends it. Use a "
        "board with one, or a reservoir that the tank survives.");
  }
  const auto loss = reader.maybe_integer("communication_loss_register", 0, kAddressMax);
  if (reader.has("communication_loss_register")) {
    outlet.communication_loss = modbus::CommunicationLoss{
        static_cast<std::uint16_t>(loss.value_or(0)),
        static_cast<std::uint16_t>(reader.integer("communication_loss_value", 1, kAddressMax))};
  }
  return wiring;
}

}  // namespace limegate::config
