#include "calculator/buffer_input.h"

#include <array>

#include <fmt/format.h>

#include "calculator/inputs.h"
#include "chemistry/ph_buffers.h"

namespace limegate::calculator {
namespace {

using chemistry::StandardBuffer;

struct Label {
  std::string_view name;
  StandardBuffer buffer;
};
constexpr std::array kLabels{Label{"4.00", StandardBuffer::technical_4_00},
                             Label{"7.00", StandardBuffer::technical_7_00},
                             Label{"10.01", StandardBuffer::technical_10_01},
                             Label{"4.005", StandardBuffer::phthalate_4_005},
                             Label{"4.01", StandardBuffer::phthalate_4_005},
                             Label{"6.865", StandardBuffer::phosphate_6_865},
                             Label{"6.86", StandardBuffer::phosphate_6_865},
                             Label{"7.000", StandardBuffer::phosphate_7_000},
                             Label{"7.413", StandardBuffer::phosphate_7_413},
                             Label{"7.41", StandardBuffer::phosphate_7_413},
                             Label{"9.180", StandardBuffer::borax_9_180},
                             Label{"9.18", StandardBuffer::borax_9_180},
                             Label{"10.012", StandardBuffer::carbonate_10_012},
                             Label{"12.454", StandardBuffer::calcium_hydroxide_12_454},
                             Label{"12.45", StandardBuffer::calcium_hydroxide_12_454}};
constexpr std::string_view kOwnValue = "bottle";

Input<Ph> ph_of(std::string_view name, Celsius temperature) {
  if (name.starts_with(kOwnValue)) {
    return parse_number("--buffer bottle", name.substr(kOwnValue.size())).map([](double value) {
      return Ph{value};
    });
  }
  for (const Label& label : kLabels) {
    if (label.name == name) {
      return in_words(chemistry::buffer_ph(label.buffer, temperature));
    }
  }
  return refuse(fmt::format(
      "--buffer {} is no standard buffer; known: {}; or give the pH that the bottle's own table "
      "names at this temperature, for example bottle10.06",
      name, known_buffers()));
}

}  // namespace

std::string known_buffers() {
  std::string names;
  for (const Label& label : kLabels) {
    names += fmt::format("{}{}", names.empty() ? "" : ", ", label.name);
  }
  return names;
}

Input<NamedReading> parse_buffer(std::string_view text) {
  const auto equals = text.find('=');
  const auto at = text.find('@');
  if (equals == std::string_view::npos || at == std::string_view::npos || at < equals) {
    return refuse(fmt::format("--buffer {} should look like 7.00=-3.1mV@25C", text));
  }
  const std::string_view name = text.substr(0, equals);
  std::string_view now = text.substr(equals + 1, at - equals - 1);
  std::string_view before = now;
  if (const auto dots = now.find(".."); dots != std::string_view::npos) {
    before = now.substr(0, dots);
    now = now.substr(dots + 2);
  }
  const auto temperature = parse_temperature("--buffer temperature", text.substr(at + 1));
  if (!temperature) {
    return refuse(temperature.error());
  }
  const auto ph = ph_of(name, *temperature);
  if (!ph) {
    return refuse(ph.error());
  }
  const auto first = parse_millivolts("--buffer reading", before);
  if (!first) {
    return refuse(first.error());
  }
  const auto last = parse_millivolts("--buffer reading", now);
  if (!last) {
    return refuse(last.error());
  }
  return NamedReading{std::string{name}, {*ph, *temperature, *last, *last - *first}};
}

}  // namespace limegate::calculator
