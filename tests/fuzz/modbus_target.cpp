// What a board or a disturbed line sends as the answer to a request. The first eight bytes draw the
// request. An answer that is believed fits the request byte for byte.
#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "fuzz/promise.h"
#include "modbus/decode.h"
#include "modbus/frame.h"

namespace {

using limegate::fuzz::promise;
namespace modbus = limegate::modbus;

constexpr std::size_t kDrawn = 8;

std::uint16_t big_endian(std::span<const std::uint8_t> bytes, std::size_t at) {
  return static_cast<std::uint16_t>(bytes[at] << 8U | bytes[at + 1]);
}

modbus::Request drawn(std::span<const std::uint8_t> bytes) {
  const int unit = 1 + bytes[0] % 247;
  const std::uint16_t address = big_endian(bytes, 2);
  const std::uint16_t value = big_endian(bytes, 4);
  switch (bytes[1] % 6) {
    case 4:
      return modbus::write_coil(unit, address, static_cast<modbus::CoilValue>(value % 2));
    case 5:
      return modbus::write_register(unit, address, value);
    default:
      break;
  }
  const auto table = static_cast<modbus::Table>(bytes[1] % 6);
  const bool bits = table == modbus::Table::coil || table == modbus::Table::discrete_input;
  return modbus::read_request(unit, table, address,
                              static_cast<std::uint16_t>(1 + value % (bits ? 2000 : 125)));
}

/// `body`: unit, function and what follows, without CRC and header.
void judge(const modbus::Request& request, const modbus::Answer& answer,
           std::span<const std::uint8_t> body) {
  if (!answer) {
    return;
  }
  promise(body[0] == request.unit && body[1] == request.function, "it is the answer to this");
  if (modbus::writes(request)) {
    const auto echo = modbus::bytes_of(request);
    promise(answer->empty() && std::equal(body.begin(), body.end(), echo.begin(), echo.end()),
            "a write is confirmed by its echo");
    return;
  }
  promise(answer->size() == request.operand, "one value for each that was asked for");
  for (std::size_t i = 0; i < answer->size(); ++i) {
    const int sent =
        request.function <= 2 ? body[3 + i / 8] >> (i % 8) & 1 : big_endian(body, 3 + 2 * i);
    promise((*answer)[i] == sent, "the value that was sent");
  }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size < kDrawn) {
    return 0;
  }
  const std::span<const std::uint8_t> bytes{data, size};
  const modbus::Request request = drawn(bytes);
  const auto frame = bytes.subspan(kDrawn);

  judge(request, modbus::check_rtu(request, frame),
        frame.first(frame.size() - std::min<std::size_t>(2, frame.size())));
  judge(request, modbus::check_tcp(request, frame),
        frame.subspan(std::min<std::size_t>(6, frame.size())));
  // A fuzzer finds no CRC by itself.
  std::vector<std::uint8_t> whole{frame.begin(), frame.end()};
  const std::uint16_t crc = modbus::crc16(whole);
  whole.push_back(static_cast<std::uint8_t>(crc & 0xFFU));
  whole.push_back(static_cast<std::uint8_t>(crc >> 8U));
  const auto answer = modbus::check_rtu(request, whole);
  judge(request, answer, frame);

  modbus::ProbeSettings probe;
  probe.encoding = static_cast<modbus::Encoding>(bytes[6] % 6);
  probe.word_order = static_cast<modbus::WordOrder>(bytes[7] % 4);
  (void)modbus::decode(probe, answer ? *answer : modbus::Words{big_endian(bytes, 2)});
  return 0;
}
