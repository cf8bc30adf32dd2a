#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include <tl/expected.hpp>

#include "modbus/settings.h"
#include "ports/bus_fault.h"

namespace limegate::modbus {

/// One request of the functions 1 to 6, which all carry an address and one 16-bit operand (the
/// count to read, or the value to write).
/// Source: Modbus application protocol V1.1b3, sections 6.1 to 6.6.
struct Request {
  std::uint8_t unit = 1;
  std::uint8_t function = 3;
  std::uint16_t address = 0;
  std::uint16_t operand = 1;
  friend bool operator==(const Request&, const Request&) = default;
};

/// What a device answered: one number a register or bit (0 or 1); empty for a confirmed write.
using Words = std::vector<std::uint16_t>;
using Answer = tl::expected<Words, ports::BusFault>;

/// Reads `count` values. Valid: 1..125 registers or 1..2000 bits.
[[nodiscard]] Request read_request(int unit, Table table, std::uint16_t address,
                                   std::uint16_t count);
enum class CoilValue { off, on };
[[nodiscard]] Request write_coil(int unit, std::uint16_t address, CoilValue value);
[[nodiscard]] Request write_register(int unit, std::uint16_t address, std::uint16_t value);

/// Whether the request changes something in the device.
[[nodiscard]] bool writes(const Request& request);

/// The request as unit, function, address, operand: without CRC or MBAP header.
[[nodiscard]] std::vector<std::uint8_t> bytes_of(const Request& request);

/// Judges a whole RTU frame (unit .. CRC) as the answer to `request`.
/// Errors: corrupt_reply unless unit, function, length, echo and CRC all fit; refused_by_device
/// for an exception; timed_out for the exceptions 10 and 11, with which a gateway speaks for a
/// device that did not answer it.
[[nodiscard]] Answer check_rtu(const Request& request, std::span<const std::uint8_t> frame);

/// The same for a whole TCP frame. libmodbus sends raw requests with transaction id 0, so any
/// other id, protocol or length is not believed.
[[nodiscard]] Answer check_tcp(const Request& request, std::span<const std::uint8_t> frame);

/// Source: Modbus over serial line V1.02, section 6.2.2 (polynomial 0xA001, start 0xFFFF).
[[nodiscard]] std::uint16_t crc16(std::span<const std::uint8_t> bytes);

}  // namespace limegate::modbus
