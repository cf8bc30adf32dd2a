#include "modbus/decode.h"

#include <bit>
#include <limits>

namespace limegate::modbus {
namespace {

constexpr std::uint32_t swap_bytes(std::uint16_t v) {
  return static_cast<std::uint32_t>(((v & 0xFF) << 8) | (v >> 8));
}

constexpr std::uint32_t joined(std::uint16_t first, std::uint16_t second, WordOrder order) {
  switch (order) {
    case WordOrder::abcd:
      return (std::uint32_t{first} << 16) | second;
    case WordOrder::cdab:
      return (std::uint32_t{second} << 16) | first;
    case WordOrder::badc:
      return (swap_bytes(first) << 16) | swap_bytes(second);
    case WordOrder::dcba:
      return (swap_bytes(second) << 16) | swap_bytes(first);
  }
  return 0;
}

bool is_bit_table(Table table) { return table == Table::coil || table == Table::discrete_input; }

double raw_value(const ProbeSettings& probe, std::span<const std::uint16_t> words) {
  if (is_bit_table(probe.table)) {
    return words[0] != 0 ? 1.0 : 0.0;
  }
  switch (probe.encoding) {
    case Encoding::bit:
      return words[0] != 0 ? 1.0 : 0.0;
    case Encoding::uint16:
      return words[0];
    case Encoding::int16:
      return std::bit_cast<std::int16_t>(words[0]);
    case Encoding::uint32:
      return joined(words[0], words[1], probe.word_order);
    case Encoding::int32:
      return std::bit_cast<std::int32_t>(joined(words[0], words[1], probe.word_order));
    case Encoding::float32:
      return static_cast<double>(
          std::bit_cast<float>(joined(words[0], words[1], probe.word_order)));
  }
  return std::numeric_limits<double>::quiet_NaN();
}

}  // namespace

std::uint16_t width_of(const ProbeSettings& probe) {
  if (is_bit_table(probe.table)) {
    return 1;
  }
  switch (probe.encoding) {
    case Encoding::bit:
    case Encoding::int16:
    case Encoding::uint16:
      return 1;
    case Encoding::int32:
    case Encoding::uint32:
    case Encoding::float32:
      return 2;
  }
  return 1;
}

double decode(const ProbeSettings& probe, std::span<const std::uint16_t> words) {
  if (words.size() != width_of(probe)) {
    return std::numeric_limits<double>::quiet_NaN();
  }
  const double value = raw_value(probe, words) * probe.scale + probe.offset;
  switch (probe.conversion) {
    case ProbeSettings::Conversion::none:
      return value;
    case ProbeSettings::Conversion::fahrenheit_to_celsius:
      return (value - 32.0) / 1.8;
  }
  return value;
}

}  // namespace limegate::modbus
