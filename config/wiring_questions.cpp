// Wiring that the wire would take and that can hardly be meant.

#include <algorithm>
#include <chrono>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "config/line_time.h"
#include "config/outlets.h"
#include "config/question_rows.h"
#include "modbus/decode.h"
#include "units/plain_number.h"

namespace limegate::config::ask {
namespace {

using modbus::Table;

struct NamedProbe {
  std::string name;  ///< the key of its table
  const ProbeWiring* wiring;
};

/// Of a station, those with a role of their own.
std::vector<NamedProbe> probes_of(const Station& station) {
  std::vector<NamedProbe> probes;
  if (station.wiring) {
    probes.push_back({"ph", &station.wiring->ph});
    if (station.wiring->second_ph) {
      probes.push_back({"second_ph", &*station.wiring->second_ph});
    }
    probes.push_back({"temperature", &station.wiring->temperature});
  }
  return probes;
}

/// Those, and whatever else the station reads over a bus.
std::vector<NamedProbe> read_of(const Station& station) {
  std::vector<NamedProbe> probes = probes_of(station);
  if (station.wiring && station.wiring->stirrer_input) {
    probes.push_back({"stirrer", &*station.wiring->stirrer_input});
  }
  for (std::size_t i = 0; station.wiring && i < station.inputs.size(); ++i) {
    if (const auto* probe = std::get_if<ProbeWiring>(&station.inputs[i])) {
      const auto& inputs = station.settings.owner.inputs;
      probes.push_back({inputs[rules::OwnerRulebook::kFirstOwn + i].name, probe});
    }
  }
  return probes;
}

bool overlap(const ProbeWiring& a, const ProbeWiring& b) {
  return a.bus == b.bus && a.probe.unit == b.probe.unit && a.probe.table == b.probe.table &&
         a.probe.address < b.probe.address + modbus::width_of(b.probe) &&
         b.probe.address < a.probe.address + modbus::width_of(a.probe);
}

std::string place_of(const Config& config, const ProbeWiring& wiring) {
  return fmt::format("bus '{}', unit {}, register {}", config.buses[wiring.bus].name,
                     wiring.probe.unit, wiring.probe.address);
}

bool one_board(const OutletWiring& a, const OutletWiring& b) {
  return a.bus == b.bus && a.outlet.unit == b.outlet.unit;
}

std::string name_of(const Outlet& outlet) {
  return fmt::format("the {} of {}", outlet.what, outlet.station->settings.name);
}

bool one_point(const modbus::SwitchPoint& a, const modbus::SwitchPoint& b) {
  return a.table == b.table && a.address == b.address;
}

/// What a register of its board does to an outlet; null: nothing.
const char* use_of(int address, const Outlet& outlet) {
  const modbus::OutletSettings& wired = outlet.wiring->outlet;
  if (wired.timed_on && wired.timed_on->address == address) {
    return "times";
  }
  return wired.control.table == Table::holding_register && wired.control.address == address
             ? "switches"
             : nullptr;
}

/// An address, and what stands there.
struct Numbered {
  std::string what;
  Table table;
  int address;
};

std::vector<Numbered> addresses_of(const Config& config, const Station& station) {
  std::vector<Numbered> all;
  for (const NamedProbe& probe : read_of(station)) {
    all.push_back({probe.name, probe.wiring->probe.table, probe.wiring->probe.address});
  }
  for (const Outlet& one : outlets_of(config)) {
    if (one.station != &station) {
      continue;
    }
    const modbus::OutletSettings& outlet = one.wiring->outlet;
    const std::string name = name_of(one);
    all.push_back({name, outlet.control.table, outlet.control.address});
    if (outlet.feedback) {
      all.push_back({"the feedback of " + name, outlet.feedback->table, outlet.feedback->address});
    }
    if (outlet.timed_on) {
      all.push_back({"the timer of " + name, Table::holding_register, outlet.timed_on->address});
    }
    if (const auto& loss = outlet.communication_loss) {
      all.push_back({"what ends " + name + " in silence", Table::holding_register, loss->address});
    }
  }
  return all;
}

/// Modicon's notation: a first digit for the table, and numbers counted from 1 (MODBUS Application
/// Protocol V1.1b3, 4.4, counts from 0 on the wire). The digit may be that of another table.
bool is_of_a_manual(const Numbered& one) {
  const int digit = one.address / 10'000;
  const bool registers = one.table == Table::holding_register || one.table == Table::input_register;
  return one.address % 10'000 != 0 && (registers ? digit == 3 || digit == 4 : digit == 1);
}

}  // namespace

Sentence shared_timer(const Config& config, const Station& station) {
  const std::vector<Outlet> all = outlets_of(config);
  for (const Outlet& mine : all) {
    const auto& timer = mine.wiring->outlet.timed_on;
    if (mine.station != &station || !timer) {
      continue;
    }
    for (const Outlet& other : all) {
      const char* const does = use_of(timer->address, other);
      if (mine.wiring != other.wiring && one_board(*mine.wiring, *other.wiring) && does) {
        return fmt::format(
            "register {} is the timer of {}, and also {} {}: a run of one would start or end the "
            "other too. Which of them is it?",
            timer->address, name_of(mine), does, name_of(other));
      }
    }
  }
  return std::nullopt;
}

Sentence timer_as_loss(const Config& config, const Station& station) {
  const std::vector<Outlet> all = outlets_of(config);
  for (const Outlet& mine : all) {
    const auto& loss = mine.wiring->outlet.communication_loss;
    if (mine.station != &station || !loss) {
      continue;
    }
    for (const Outlet& other : all) {
      const char* const does = use_of(loss->address, other);
      if (one_board(*mine.wiring, *other.wiring) && does) {
        return fmt::format(
            "communication_loss_register {} of {} is what {} {}: writing {} there at each start "
            "would switch it on. Is it another register?",
            loss->address, name_of(mine), does, name_of(other), loss->value);
      }
    }
  }
  return std::nullopt;
}

Sentence feedback_of_another(const Config& config, const Station& station) {
  const std::vector<Outlet> all = outlets_of(config);
  for (const Outlet& mine : all) {
    const auto& feedback = mine.wiring->outlet.feedback;
    if (mine.station != &station || !feedback) {
      continue;
    }
    for (const Outlet& other : all) {
      const modbus::OutletSettings& outlet = other.wiring->outlet;
      if (mine.wiring != other.wiring && one_board(*mine.wiring, *other.wiring) &&
          (one_point(*feedback, outlet.control) ||
           (outlet.feedback && one_point(*feedback, *outlet.feedback)))) {
        return fmt::format(
            "the feedback of {} is read at address {}, where {} is: a pump that is on could look "
            "off. Which contact is whose?",
            name_of(mine), feedback->address, name_of(other));
      }
    }
  }
  return std::nullopt;
}

Sentence one_register(const Config& config, const Station& station) {
  for (const NamedProbe& probe : probes_of(station)) {
    if (probe.name != "temperature" && overlap(*probe.wiring, station.wiring->temperature)) {
      return fmt::format(
          "{} and temperature are read from one register ({}). Which of them is there?", probe.name,
          place_of(config, *probe.wiring));
    }
  }
  return std::nullopt;
}

Sentence probe_at_outlet(const Config& config, const Station& station) {
  for (const NamedProbe& probe : probes_of(station)) {
    const modbus::ProbeSettings& read = probe.wiring->probe;
    const auto is_read = [&](Table table, int address) {
      return read.table == table && address >= read.address &&
             address < read.address + modbus::width_of(read);
    };
    for (const Outlet& outlet : outlets_of(config)) {
      const modbus::OutletSettings& wired = outlet.wiring->outlet;
      const bool touches =
          outlet.wiring->bus == probe.wiring->bus && wired.unit == read.unit &&
          (is_read(wired.control.table, wired.control.address) ||
           (wired.timed_on && is_read(Table::holding_register, wired.timed_on->address)) ||
           (wired.communication_loss &&
            is_read(Table::holding_register, wired.communication_loss->address)));
      if (touches) {
        return fmt::format(
            "{} is read where {} is switched or timed ({}): what is written there would be read as "
            "water, and the probe overwritten. Which of them is there?",
            probe.name, name_of(outlet), place_of(config, *probe.wiring));
      }
    }
  }
  return std::nullopt;
}

Sentence second_probe(const Config& config, const Station& station) {
  if (!station.wiring || !station.wiring->second_ph ||
      !overlap(station.wiring->ph, *station.wiring->second_ph)) {
    return std::nullopt;
  }
  return fmt::format(
      "second_ph is the probe of ph ({}): it would agree with itself whatever happens. Where is "
      "the second one?",
      place_of(config, *station.wiring->second_ph));
}

Sentence shared_probe(const Config& config, const Station& station) {
  for (const Station& other : config.stations) {
    if (&other == &station) {
      continue;
    }
    for (const NamedProbe& mine : probes_of(station)) {
      for (const NamedProbe& others : probes_of(other)) {
        if (mine.name != "temperature" && others.name != "temperature" &&
            overlap(*mine.wiring, *others.wiring)) {
          return fmt::format(
              "{} is read where {} of {} is ({}): one of the two would be dosed by the other's "
              "water. Which probe is whose?",
              mine.name, others.name, other.settings.name, place_of(config, *mine.wiring));
        }
      }
    }
  }
  return std::nullopt;
}

Sentence register_numbers(const Config& config, const Station& station) {
  for (const Numbered& one : addresses_of(config, station)) {
    if (is_of_a_manual(one)) {
      return fmt::format(
          "the address {} of {} looks like a number of the device's manual. On the wire the first "
          "digit, which names the table, is left out, and counting begins at 0: is it {}?",
          one.address, one.what, one.address % 10'000 - 1);
    }
  }
  return std::nullopt;
}

Sentence word_order(const Config& /*config*/, const Station& station) {
  for (const NamedProbe& probe : read_of(station)) {
    const modbus::ProbeSettings& one = probe.wiring->probe;
    if (modbus::width_of(one) == 1 && one.word_order != modbus::WordOrder::abcd) {
      return fmt::format(
          "{} has a word_order, and its encoding is one register of 16 bits, which has no words to "
          "order. Is the encoding float32, uint32 or int32?",
          probe.name);
    }
  }
  return std::nullopt;
}

namespace {

/// Whether whole numbers of this encoding can show all from `low` to `high`, in steps of `step`.
/// Floats always can, by themselves.
bool can_show(const modbus::ProbeSettings& probe, double low, double high, double step) {
  const auto [least, most] = whole_numbers_of(probe.encoding);
  if (least == most) {
    return true;
  }
  const double a = least * probe.scale + probe.offset;
  const double b = most * probe.scale + probe.offset;
  return std::min(a, b) <= low && std::max(a, b) >= high && std::abs(probe.scale) <= step;
}

std::string reach_of(const modbus::ProbeSettings& probe) {
  const auto [least, most] = whole_numbers_of(probe.encoding);
  const double a = least * probe.scale + probe.offset;
  const double b = most * probe.scale + probe.offset;
  return fmt::format("{} to {} in steps of {}", plain_number(std::min(a, b), 6),
                     plain_number(std::max(a, b), 6), plain_number(std::abs(probe.scale), 4));
}

}  // namespace

/// A pulse moves the pH by some 0.02: in coarser steps nobody sees what it does.
constexpr double kPhStepMost = 0.02;

Sentence ph_scale(const Config& /*config*/, const Station& station) {
  for (const NamedProbe& probe : probes_of(station)) {
    if (probe.name != "temperature" && !can_show(probe.wiring->probe, 7.0, 9.0, kPhStepMost)) {
      return fmt::format(
          "{} can read {} by its encoding, scale and offset, and a reef's pH is 7.8 to 8.5. If the "
          "device sends 812 for pH 8.12, the scale is 0.01. What does it send?",
          probe.name, reach_of(probe.wiring->probe));
    }
  }
  return std::nullopt;
}

Sentence temperature_scale(const Config& /*config*/, const Station& station) {
  if (!station.wiring) {
    return std::nullopt;
  }
  const modbus::ProbeSettings& probe = station.wiring->temperature.probe;
  const bool fahrenheit =
      probe.conversion == modbus::ProbeSettings::Conversion::fahrenheit_to_celsius;
  if (fahrenheit ? can_show(probe, 68, 86, 2) : can_show(probe, 20, 30, 1)) {
    return std::nullopt;
  }
  return fmt::format(
      "temperature can read {} {} by its encoding, scale and offset, and a reef has 24 to 27 °C. "
      "If "
      "the device sends 255 for 25.5 °C, the scale is 0.1. What does it send?",
      reach_of(probe), fahrenheit ? "°F" : "°C");
}

Sentence reply_timeout(const Config& config, const Station& station) {
  for (const NamedProbe& probe : read_of(station)) {
    const modbus::BusSettings& bus = config.buses[probe.wiring->bus];
    const Duration needed = time_to_read(bus, *probe.wiring);
    if (needed > bus.reply_timeout) {
      return fmt::format(
          "to ask {} over the line '{}' and to hear all of its answer takes about {:.0f} ms at {} "
          "baud, and reply_timeout_ms gives up after {}: it would never be heard. Is it longer?",
          probe.name, bus.name, 1000.0 * in_seconds(needed), baud_of(bus),
          bus.reply_timeout / std::chrono::milliseconds{1});
    }
  }
  return std::nullopt;
}

}  // namespace limegate::config::ask
