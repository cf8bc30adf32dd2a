#include "config/input_reader.h"

#include <algorithm>
#include <chrono>
#include <cstdint>
#include <string>
#include <utility>

#include <fmt/format.h>

#include "gpio/chip.h"

namespace limegate::config {
namespace {

using rules::Input;
using rules::OwnerRulebook;

constexpr std::size_t kInputsMax = 32;
constexpr std::size_t kTopicMax = 256;

/// What says where an input comes from.
constexpr const char* kSources[] = {"bus", "mqtt_topic", "gpio_chip"};
constexpr std::int64_t kGpioLineMax = 1023;

Input::Kind read_kind(TableReader& reader) {
  const auto kind = reader.needed_choice<Input::Kind>(
      "kind", {{"digital", Input::Kind::digital}, {"analogue", Input::Kind::analogue}});
  if (reader.told_of("kind")) {
    reader.leave();
  }
  return kind;
}

/// A coil or a discrete input is digital, a register is a number.
InputWiring read_modbus(TableReader& reader, WiringReader& wiring, Input& input) {
  const std::string table =
      reader.needed_word("table", {"discrete_input", "coil", "holding_register", "input_register"})
          .value_or("");
  if (table == "discrete_input" || table == "coil") {
    input.kind = Input::Kind::digital;
    return wiring.input(reader);
  }
  input.kind = Input::Kind::analogue;
  if (table == "holding_register" || table == "input_register") {
    return wiring.probe(reader);
  }
  if (!reader.told_of("table")) {
    reader.complain(
        "table", fmt::format("{}; allowed: discrete_input and coil (digital), "
                             "holding_register and input_register (analogue)",
                             table.empty() ? "is missing" : "'" + table + "' is not known here"));
  }
  reader.leave();
  return ProbeWiring{};
}

InputWiring read_topic(TableReader& reader, WiringReader& wiring, Input& input) {
  const std::string topic = reader.text("mqtt_topic");
  if (topic.size() > kTopicMax || topic.find_first_of("+#") != std::string::npos) {
    reader.complain("mqtt_topic", "is one topic, without + and #, of 256 characters at most");
  }
  if (!wiring.has_broker()) {
    reader.complain("mqtt_topic", "needs a broker: there is no [mqtt] table");
  }
  input.kind = read_kind(reader);
  return MqttTopic{topic};
}

InputWiring read_gpio(TableReader& reader, Input& input) {
  using Polarity = gpio::LineSettings::Polarity;
  input.kind = Input::Kind::digital;
  GpioLine line;
  line.chip = reader.text("gpio_chip");
  if (!gpio::built_in()) {
    reader.complain("gpio_chip", "can't be read: this program was built without GPIO");
    reader.knows("gpio_line");
    reader.knows("active_low");
    return line;
  }
  if (!line.chip.empty() && line.chip.rfind("/dev/", 0) != 0) {
    reader.complain("gpio_chip", "is the path of a chip, as /dev/gpiochip0");
  }
  line.line.line = static_cast<unsigned>(reader.integer("gpio_line", 0, kGpioLineMax));
  line.line.polarity =
      reader.flag("active_low", false) ? Polarity::active_low : Polarity::active_high;
  return line;
}

/// From where; and with that, of what kind it is.
InputWiring read_source(TableReader& reader, WiringReader& wiring, bool simulated, Input& input) {
  std::string given;
  for (const char* source : kSources) {
    reader.knows(source);
    if (!reader.has(source)) {
      continue;
    }
    if (!given.empty()) {
      reader.complain(source, "can't stand beside " + given + ": an input has one source");
    } else {
      given = source;
    }
  }
  if (given == "bus") {
    return read_modbus(reader, wiring, input);
  }
  if (given == "mqtt_topic") {
    return read_topic(reader, wiring, input);
  }
  if (given == "gpio_chip") {
    return read_gpio(reader, input);
  }
  if (!simulated) {
    reader.complain("bus", "is missing: an input comes from a bus, an mqtt_topic or a gpio_chip");
    reader.leave();
    return {};
  }
  input.kind = read_kind(reader);
  return {};
}

/// What the input shows when all is well.
double read_usual(TableReader& reader, Input::Kind kind) {
  return reader.left() ? 0.0
         : kind == Input::Kind::analogue
             ? reader.number("usual", {-1e9, 1e9})
             : reader.needed_choice<double>("usual", {{"off", 0.0}, {"on", 1.0}});
}

void check_name(TableReader& reader, const Input& input, const OwnerRulebook& book) {
  if (!input.name.empty() && !is_name(input.name)) {
    reader.complain("name", "may hold only a-z, 0-9 and '-', 40 characters at most");
  }
  for (std::size_t i = 0; i < book.inputs.size(); ++i) {
    if (book.inputs[i].name == input.name) {
      reader.complain("name", i < OwnerRulebook::kFirstOwn
                                  ? "'" + input.name + "' is the station's own probe"
                                  : "another input has the name '" + input.name + "' already");
    }
  }
}

}  // namespace

bool read_inputs(TableReader& reader, WiringReader& wiring, Station& station) {
  bool all_known = true;
  OwnerRulebook& book = station.settings.owner;
  for (std::size_t probe = 0; probe < OwnerRulebook::kFirstOwn; ++probe) {
    book.inputs[probe].age_max = station.settings.limits.reading_age_max;
  }
  for (TableReader& one : reader.tables("input")) {
    Input input;
    input.name = one.text("name");
    check_name(one, input, book);
    const bool named = !one.told_of("name");
    if (!input.name.empty()) {
      one.rename(reader.path() + ".input." + input.name);
    }
    InputWiring source = read_source(one, wiring, !station.wiring, input);
    input.unit = one.maybe_text("unit_name").value_or("");
    // Only the owner knows how often somebody else publishes.
    // Twice the longest poll at the least, or it is unknown half of the time.
    const Bounds age{10, 86400, "an older value says nothing"};
    input.age_max =
        seconds_of(std::holds_alternative<MqttTopic>(source) ? one.number("max_age_s", age)
                                                             : one.number("max_age_s", age, 10));
    input.usual = read_usual(one, input.kind);
    one.finish();
    all_known = all_known && named && !one.left();
    book.inputs.push_back(std::move(input));
    station.inputs.push_back(std::move(source));
  }
  if (station.inputs.size() > kInputsMax) {
    reader.complain("input", fmt::format("{} inputs are too many: at most {}",
                                         station.inputs.size(), kInputsMax));
  }
  return all_known;
}

}  // namespace limegate::config
