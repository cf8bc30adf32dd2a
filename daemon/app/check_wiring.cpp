#include "app/check_wiring.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdlib>
#include <set>
#include <variant>

#include <fmt/format.h>

#include "config/line_time.h"
#include "config/outlets.h"
#include "modbus/decode.h"
#include "rules/for_people.h"
#include "rules/owner_rule.h"
#include "units/plain_number.h"
#include "units/visitor.h"

namespace limegate::app {
namespace {

using modbus::Polarity;
using modbus::ProbeSettings;
using modbus::SwitchPoint;
using modbus::Table;

const char* name_of(Table table) {
  switch (table) {
    case Table::coil:
      return "coil";
    case Table::discrete_input:
      return "discrete input";
    case Table::holding_register:
      return "holding register";
    case Table::input_register:
      return "input register";
  }
  std::abort();
}

const char* name_of(modbus::WordOrder order) {
  switch (order) {
    case modbus::WordOrder::abcd:
      return "abcd";
    case modbus::WordOrder::cdab:
      return "cdab";
    case modbus::WordOrder::badc:
      return "badc";
    case modbus::WordOrder::dcba:
      return "dcba";
  }
  std::abort();
}

const char* name_of(modbus::Parity parity) {
  switch (parity) {
    case modbus::Parity::none:
      return "no parity";
    case modbus::Parity::even:
      return "even parity";
    case modbus::Parity::odd:
      return "odd parity";
  }
  std::abort();
}

std::string bus_line(const config::Config& config, std::size_t bus) {
  const modbus::BusSettings& settings = config.buses[bus];
  std::string out = fmt::format("    bus {}: {}", settings.name, config::port_of(settings));
  if (const auto* line = std::get_if<modbus::SerialPort>(&settings.port)) {
    out += fmt::format(
        "\n      {} baud, {}, {} stop bit{}; to read all its probes once takes about {:.0f} ms",
        line->baud, name_of(line->parity), line->stop_bits, line->stop_bits == 1 ? "" : "s",
        1000.0 * in_seconds(config::round_of(config, bus)));
  }
  return out + "\n";
}

/// "panel, unit 1, input register 0".
std::string place_of(const config::Config& config, const config::ProbeWiring& wiring) {
  const ProbeSettings& probe = wiring.probe;
  const std::string place = fmt::format("{}, unit {}, {}", config.buses[wiring.bus].name,
                                        probe.unit, name_of(probe.table));
  return modbus::width_of(probe) == 1 ? fmt::format("{} {}", place, probe.address)
                                      : fmt::format("{}s {} and {}, bytes {}", place, probe.address,
                                                    probe.address + 1, name_of(probe.word_order));
}

/// How a number of a probe is written.
using Written = std::string (*)(double);
std::string written_ph(double value) { return fmt::format("pH {:.2f}", value); }
std::string written_input(double value) { return plain_number(value, 6); }

/// The number that comes nearest to `example`, and what it is read as.
std::string meaning_of(const ProbeSettings& probe, double example, Written written) {
  const bool fahrenheit = probe.conversion == ProbeSettings::Conversion::fahrenheit_to_celsius;
  double sent = ((fahrenheit ? example * 1.8 + 32.0 : example) - probe.offset) / probe.scale;
  if (probe.encoding != modbus::Encoding::float32) {
    const auto [least, most] = config::whole_numbers_of(probe.encoding);
    sent = std::clamp(std::round(sent), least, most);
  }
  const double value = sent * probe.scale + probe.offset;
  return fmt::format("{} reads as {}", plain_number(sent, 10),
                     written(fahrenheit ? (value - 32.0) / 1.8 : value));
}

std::string on_of(const SwitchPoint& point) {
  const bool low = point.polarity == Polarity::active_low;
  const bool bit = point.table == Table::coil || point.table == Table::discrete_input;
  const int high = bit ? 1 : point.register_on;
  const int rest = bit ? 0 : point.register_off;
  return fmt::format("{} is on, {} is off", low ? rest : high, low ? high : rest);
}

std::string outlet_lines(const config::Config& config, const char* what,
                         const config::OutletWiring& wiring) {
  const modbus::OutletSettings& outlet = wiring.outlet;
  std::string out = fmt::format(
      "    {}: {}, unit {}, {} {}: {}\n", what, config.buses[wiring.bus].name, outlet.unit,
      name_of(outlet.control.table), outlet.control.address, on_of(outlet.control));
  out += outlet.feedback
             ? fmt::format("      read back at {} {}: {}\n", name_of(outlet.feedback->table),
                           outlet.feedback->address, on_of(*outlet.feedback))
             : "      read back where it is switched: a contact that welds shut is not seen\n";
  // That nothing but the program ends a run is a warning already.
  if (outlet.timed_on) {
    out += fmt::format("      the board ends each run: register {} counts steps of {:.0f} ms\n",
                       outlet.timed_on->address, 1000.0 * in_seconds(outlet.timed_on->step));
  }
  if (outlet.communication_loss) {
    out += fmt::format("      the board goes off when it hears nothing: register {} is set to {}\n",
                       outlet.communication_loss->address, outlet.communication_loss->value);
  }
  return out;
}

/// Of something that is on or off.
std::string contact_of(const config::Config& config, const config::ProbeWiring& wiring) {
  return fmt::format("{}: {} means on", place_of(config, wiring), wiring.probe.scale < 0 ? 0 : 1);
}

std::string input_lines(const config::Config& config, const config::Station& station) {
  std::string out;
  for (std::size_t i = 0; i < station.inputs.size(); ++i) {
    const rules::Input& input = station.settings.owner.inputs[rules::OwnerRulebook::kFirstOwn + i];
    const std::string place = std::visit(
        Visitor{[](std::monostate) { return std::string{}; },
                [](const config::MqttTopic& topic) { return "the MQTT topic " + topic.topic; },
                [](const config::GpioLine& gpio) {
                  return fmt::format("{}, line {}: {} means on", gpio.chip, gpio.line.line,
                                     gpio.line.polarity == gpio::LineSettings::Polarity::active_low
                                         ? "low"
                                         : "high");
                },
                [&](const config::ProbeWiring& wiring) {
                  return input.kind == rules::Input::Kind::digital
                             ? contact_of(config, wiring)
                             : fmt::format("{}: {} {}", place_of(config, wiring),
                                           meaning_of(wiring.probe, input.usual, written_input),
                                           input.unit);
                }},
        station.inputs[i]);
    out += fmt::format("    input {}: {}\n", input.name, place);
  }
  return out;
}

/// Each bus of this station once, in the file's order.
std::string bus_lines(const config::Config& config, const config::Station& station) {
  const config::Wiring& wiring = *station.wiring;
  std::set<std::size_t> used{wiring.ph.bus, wiring.temperature.bus, wiring.pump.bus};
  if (wiring.second_ph) {
    used.insert(wiring.second_ph->bus);
  }
  used.insert(wiring.stirrer_outlet ? wiring.stirrer_outlet->bus : wiring.stirrer_input->bus);
  for (const config::InputWiring& input : station.inputs) {
    if (const auto* probe = std::get_if<config::ProbeWiring>(&input)) {
      used.insert(probe->bus);
    }
  }
  std::string out;
  for (const std::size_t bus : used) {
    out += bus_line(config, bus);
  }
  return out;
}

}  // namespace

std::string wiring_of(const config::Config& config, const config::Station& station) {
  if (!station.wiring) {
    return {};
  }
  const config::Wiring& wiring = *station.wiring;
  const auto probe_line = [&](const char* what, const config::ProbeWiring& probe, double example,
                              Written written) {
    return fmt::format("    {}: {}: {}\n", what, place_of(config, probe),
                       meaning_of(probe.probe, example, written));
  };
  std::string out = "  Wired so, with addresses as on the wire, counted from 0\n";
  out += bus_lines(config, station);
  out += probe_line("ph", wiring.ph, 8.12, written_ph);
  if (wiring.second_ph) {
    out += probe_line("second_ph", *wiring.second_ph, 8.12, written_ph);
  }
  out += probe_line("temperature", wiring.temperature, 25.5, rules::temperature_for_people);
  out += outlet_lines(config, "pump", wiring.pump);
  out += wiring.stirrer_outlet ? outlet_lines(config, "stirrer", *wiring.stirrer_outlet)
                               : fmt::format("    stirrer, observed: {}\n",
                                             contact_of(config, *wiring.stirrer_input));
  return out + input_lines(config, station);
}

}  // namespace limegate::app
