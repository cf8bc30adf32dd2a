#include "modbus/frame.h"

#include <cstddef>

namespace limegate::modbus {
namespace {

constexpr std::uint8_t kReadCoils = 1;
constexpr std::uint8_t kReadInputs = 2;
constexpr std::uint8_t kReadHolding = 3;
constexpr std::uint8_t kReadInputRegisters = 4;
constexpr std::uint8_t kWriteCoil = 5;
constexpr std::uint8_t kWriteRegister = 6;
constexpr std::uint8_t kExceptionBit = 0x80;

constexpr std::uint16_t word(std::uint8_t high, std::uint8_t low) {
  return static_cast<std::uint16_t>((high << 8) | low);
}
constexpr std::uint8_t high_byte(std::uint16_t v) { return static_cast<std::uint8_t>(v >> 8); }
constexpr std::uint8_t low_byte(std::uint16_t v) { return static_cast<std::uint8_t>(v & 0xFF); }

constexpr bool reads_bits(std::uint8_t function) {
  return function == kReadCoils || function == kReadInputs;
}

std::uint8_t function_reading(Table table) {
  switch (table) {
    case Table::coil:
      return kReadCoils;
    case Table::discrete_input:
      return kReadInputs;
    case Table::holding_register:
      return kReadHolding;
    case Table::input_register:
      return kReadInputRegisters;
  }
  return kReadHolding;
}

/// An exception answer, or corrupt_reply where it is none that the standard knows.
ports::BusFault exception_of(std::span<const std::uint8_t> pdu) {
  constexpr std::uint8_t gateway_path_unavailable = 10;
  constexpr std::uint8_t gateway_target_silent = 11;
  if (pdu.size() != 2) {
    return ports::BusFault::corrupt_reply;
  }
  const std::uint8_t code = pdu[1];
  if (code == gateway_path_unavailable || code == gateway_target_silent) {
    return ports::BusFault::timed_out;
  }
  const bool known = (code >= 1 && code <= 6) || code == 8;
  return known ? ports::BusFault::refused_by_device : ports::BusFault::corrupt_reply;
}

Words bits_in(std::span<const std::uint8_t> data, std::size_t count) {
  Words bits;
  bits.reserve(count);
  for (std::size_t i = 0; i < count; ++i) {
    bits.push_back(static_cast<std::uint16_t>((data[i / 8] >> (i % 8)) & 1));
  }
  return bits;
}

Words registers_in(std::span<const std::uint8_t> data) {
  Words words;
  words.reserve(data.size() / 2);
  for (std::size_t i = 0; i + 1 < data.size(); i += 2) {
    words.push_back(word(data[i], data[i + 1]));
  }
  return words;
}

/// `pdu` is function and data.
Answer check_pdu(const Request& request, std::span<const std::uint8_t> pdu) {
  const tl::unexpected corrupt{ports::BusFault::corrupt_reply};
  if (pdu.size() < 2) {
    return corrupt;
  }
  if (pdu[0] == (request.function | kExceptionBit)) {
    return tl::unexpected{exception_of(pdu)};
  }
  if (pdu[0] != request.function) {
    return corrupt;
  }
  if (writes(request)) {
    const bool echoed = pdu.size() == 5 && word(pdu[1], pdu[2]) == request.address &&
                        word(pdu[3], pdu[4]) == request.operand;
    if (!echoed) {
      return corrupt;
    }
    return Words{};
  }
  const std::size_t count = request.operand;
  const std::size_t size = reads_bits(request.function) ? (count + 7) / 8 : count * 2;
  if (pdu[1] != size || pdu.size() != size + 2) {
    return corrupt;
  }
  const auto data = pdu.subspan(2);
  return reads_bits(request.function) ? bits_in(data, count) : registers_in(data);
}

}  // namespace

Request read_request(int unit, Table table, std::uint16_t address, std::uint16_t count) {
  return {static_cast<std::uint8_t>(unit), function_reading(table), address, count};
}

Request write_coil(int unit, std::uint16_t address, CoilValue value) {
  const std::uint16_t operand = value == CoilValue::on ? 0xFF00 : 0x0000;
  return {static_cast<std::uint8_t>(unit), kWriteCoil, address, operand};
}

Request write_register(int unit, std::uint16_t address, std::uint16_t value) {
  return {static_cast<std::uint8_t>(unit), kWriteRegister, address, value};
}

bool writes(const Request& request) {
  return request.function == kWriteCoil || request.function == kWriteRegister;
}

std::vector<std::uint8_t> bytes_of(const Request& request) {
  return {request.unit,
          request.function,
          high_byte(request.address),
          low_byte(request.address),
          high_byte(request.operand),
          low_byte(request.operand)};
}

Answer check_rtu(const Request& request, std::span<const std::uint8_t> frame) {
  constexpr std::size_t crc_size = 2;
  const tl::unexpected corrupt{ports::BusFault::corrupt_reply};
  if (frame.size() < 1 + 2 + crc_size) {
    return corrupt;
  }
  const auto body = frame.first(frame.size() - crc_size);
  const auto crc = frame.last(crc_size);
  // The CRC, alone in Modbus, goes low byte first.
  if (crc16(body) != word(crc[1], crc[0])) {
    return corrupt;
  }
  if (body[0] != request.unit) {
    return corrupt;
  }
  return check_pdu(request, body.subspan(1));
}

Answer check_tcp(const Request& request, std::span<const std::uint8_t> frame) {
  constexpr std::size_t header_size = 7;  // transaction, protocol, length, unit
  const tl::unexpected corrupt{ports::BusFault::corrupt_reply};
  if (frame.size() < header_size + 2) {
    return corrupt;
  }
  const bool header_fits = word(frame[0], frame[1]) == 0 && word(frame[2], frame[3]) == 0 &&
                           word(frame[4], frame[5]) == frame.size() - 6;
  if (!header_fits || frame[6] != request.unit) {
    return corrupt;
  }
  return check_pdu(request, frame.subspan(header_size));
}

std::uint16_t crc16(std::span<const std::uint8_t> bytes) {
  std::uint16_t crc = 0xFFFF;
  for (const std::uint8_t byte : bytes) {
    crc = static_cast<std::uint16_t>(crc ^ byte);
    for (int bit = 0; bit < 8; ++bit) {
      const bool carry = (crc & 1) != 0;
      crc = static_cast<std::uint16_t>(crc >> 1);
      if (carry) {
        crc = static_cast<std::uint16_t>(crc ^ 0xA001);
      }
    }
  }
  return crc;
}

}  // namespace limegate::modbus
