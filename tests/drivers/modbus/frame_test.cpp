#include "modbus/frame.h"

#include <ostream>
#include <random>
#include <string>

#include <gtest/gtest.h>

namespace limegate::modbus {
namespace {

using Bytes = std::vector<std::uint8_t>;
using ports::BusFault;

Bytes tcp_frame(std::uint8_t unit, const Bytes& pdu) {
  Bytes frame{0, 0, 0, 0, 0, static_cast<std::uint8_t>(pdu.size() + 1), unit};
  frame.insert(frame.end(), pdu.begin(), pdu.end());
  return frame;
}

Bytes rtu_frame(std::uint8_t unit, const Bytes& pdu) {
  Bytes frame{unit};
  frame.insert(frame.end(), pdu.begin(), pdu.end());
  const std::uint16_t crc = crc16(frame);
  frame.push_back(static_cast<std::uint8_t>(crc & 0xFF));
  frame.push_back(static_cast<std::uint8_t>(crc >> 8));
  return frame;
}

// Source: the worked examples of the Modbus application protocol specification V1.1b3, sections
// 6.1 to 6.6, and of its section 7 for the exception. Their bytes are quoted from memory.
struct Example {
  const char* name;
  Request request;
  Bytes request_pdu;
  Bytes reply_pdu;
  Answer expected;
};
std::ostream& operator<<(std::ostream& out, const Example& row) { return out << row.name; }

const Example kExamples[] = {
    {"6_1_reads_coils_20_to_38",
     read_request(1, Table::coil, 0x13, 19),
     {0x01, 0x00, 0x13, 0x00, 0x13},
     {0x01, 0x03, 0xCD, 0x6B, 0x05},
     Words{1, 0, 1, 1, 0, 0, 1, 1, 1, 1, 0, 1, 0, 1, 1, 0, 1, 0, 1}},
    {"6_2_reads_discrete_inputs_197_to_218",
     read_request(1, Table::discrete_input, 0xC4, 22),
     {0x02, 0x00, 0xC4, 0x00, 0x16},
     {0x02, 0x03, 0xAC, 0xDB, 0x35},
     Words{0, 0, 1, 1, 0, 1, 0, 1, 1, 1, 0, 1, 1, 0, 1, 1, 1, 0, 1, 0, 1, 1}},
    {"6_3_reads_holding_registers_108_to_110",
     read_request(1, Table::holding_register, 0x6B, 3),
     {0x03, 0x00, 0x6B, 0x00, 0x03},
     {0x03, 0x06, 0x02, 0x2B, 0x00, 0x00, 0x00, 0x64},
     Words{555, 0, 100}},
    {"6_4_reads_input_register_9",
     read_request(1, Table::input_register, 0x08, 1),
     {0x04, 0x00, 0x08, 0x00, 0x01},
     {0x04, 0x02, 0x00, 0x0A},
     Words{10}},
    {"6_5_writes_coil_173_on",
     write_coil(1, 0xAC, CoilValue::on),
     {0x05, 0x00, 0xAC, 0xFF, 0x00},
     {0x05, 0x00, 0xAC, 0xFF, 0x00},
     Words{}},
    {"6_6_writes_register_2",
     write_register(1, 0x01, 3),
     {0x06, 0x00, 0x01, 0x00, 0x03},
     {0x06, 0x00, 0x01, 0x00, 0x03},
     Words{}},
    {"7_refuses_coil_1185",
     read_request(1, Table::coil, 0x04A1, 1),
     {0x01, 0x04, 0xA1, 0x00, 0x01},
     {0x81, 0x02},
     tl::unexpected{BusFault::refused_by_device}},
};

class FrameTable : public testing::TestWithParam<Example> {};
INSTANTIATE_TEST_SUITE_P(Standard, FrameTable, testing::ValuesIn(kExamples),
                         [](const auto& row) { return std::string{row.param.name}; });

TEST_P(FrameTable, builds_the_request_and_believes_the_reply) {
  const Example& example = GetParam();
  Bytes expected{0x01};
  expected.insert(expected.end(), example.request_pdu.begin(), example.request_pdu.end());
  EXPECT_EQ(bytes_of(example.request), expected);
  EXPECT_EQ(check_rtu(example.request, rtu_frame(1, example.reply_pdu)), example.expected);
  EXPECT_EQ(check_tcp(example.request, tcp_frame(1, example.reply_pdu)), example.expected);
}

TEST(Frame, has_the_published_crc) {
  // Source: Modbus over serial line V1.02, section 6.2: unit 2, function 7 has the CRC 1241 hex.
  EXPECT_EQ(crc16(Bytes{0x02, 0x07}), 0x1241);
  // Source: the check value of CRC-16/MODBUS in the catalogue of parametrised CRC algorithms.
  const std::string digits = "123456789";
  EXPECT_EQ(crc16(Bytes{digits.begin(), digits.end()}), 0x4B37);
}

TEST(Frame, is_off_with_zero_and_on_with_ff00) {
  EXPECT_EQ(bytes_of(write_coil(9, 2, CoilValue::off)), (Bytes{9, 5, 0, 2, 0, 0}));
  EXPECT_EQ(bytes_of(write_coil(9, 2, CoilValue::on)), (Bytes{9, 5, 0, 2, 0xFF, 0}));
}

struct BadReply {
  const char* name;
  Bytes pdu;
  int unit;
  BusFault expected;
};
std::ostream& operator<<(std::ostream& out, const BadReply& row) { return out << row.name; }

// All of them answer "unit 5: read the 2 holding registers from 0x10".
const BadReply kBadReplies[] = {
    {"another_unit", {3, 4, 0, 1, 0, 2}, 6, BusFault::corrupt_reply},
    {"another_function", {4, 4, 0, 1, 0, 2}, 5, BusFault::corrupt_reply},
    {"exception_of_another_function", {0x84, 2}, 5, BusFault::corrupt_reply},
    {"one_register_too_few", {3, 2, 0, 1}, 5, BusFault::corrupt_reply},
    {"one_register_too_many", {3, 6, 0, 1, 0, 2, 0, 3}, 5, BusFault::corrupt_reply},
    {"count_field_too_small", {3, 3, 0, 1, 0, 2}, 5, BusFault::corrupt_reply},
    {"count_field_too_large", {3, 5, 0, 1, 0, 2}, 5, BusFault::corrupt_reply},
    {"one_byte_too_many", {3, 4, 0, 1, 0, 2, 0}, 5, BusFault::corrupt_reply},
    {"function_alone", {3}, 5, BusFault::corrupt_reply},
    {"exception_with_a_tail", {0x83, 2, 0}, 5, BusFault::corrupt_reply},
    {"exception_code_0", {0x83, 0}, 5, BusFault::corrupt_reply},
    {"exception_code_99", {0x83, 99}, 5, BusFault::corrupt_reply},
    {"exception_illegal_function", {0x83, 1}, 5, BusFault::refused_by_device},
    {"exception_busy", {0x83, 6}, 5, BusFault::refused_by_device},
    {"exception_gateway_path_unavailable", {0x83, 10}, 5, BusFault::timed_out},
    {"exception_gateway_target_silent", {0x83, 11}, 5, BusFault::timed_out},
};

class BadReplyTable : public testing::TestWithParam<BadReply> {};
INSTANTIATE_TEST_SUITE_P(Rows, BadReplyTable, testing::ValuesIn(kBadReplies),
                         [](const auto& row) { return std::string{row.param.name}; });

TEST_P(BadReplyTable, is_not_believed) {
  const Request request = read_request(5, Table::holding_register, 0x10, 2);
  const BadReply& row = GetParam();
  EXPECT_EQ(check_rtu(request, rtu_frame(static_cast<std::uint8_t>(row.unit), row.pdu)),
            tl::unexpected{row.expected});
  EXPECT_EQ(check_tcp(request, tcp_frame(static_cast<std::uint8_t>(row.unit), row.pdu)),
            tl::unexpected{row.expected});
}

TEST(Frame, is_not_believed_with_another_echo) {
  const Request request = write_coil(1, 7, CoilValue::on);
  const tl::unexpected corrupt{BusFault::corrupt_reply};
  for (const Bytes& echo : {Bytes{5, 0, 8, 0xFF, 0}, Bytes{5, 0, 7, 0, 0}, Bytes{5, 0, 7, 0xFF},
                            Bytes{5, 0, 7, 0xFF, 0, 0}}) {
    EXPECT_EQ(check_rtu(request, rtu_frame(1, echo)), corrupt);
    EXPECT_EQ(check_tcp(request, tcp_frame(1, echo)), corrupt);
  }
}

TEST(Frame, is_not_believed_with_a_wrong_tcp_header) {
  const Request request = read_request(1, Table::input_register, 0, 1);
  const Bytes good = tcp_frame(1, {4, 2, 0x12, 0x34});
  ASSERT_EQ(check_tcp(request, good), Words{0x1234});
  for (std::size_t i = 0; i < 7; ++i) {
    Bytes bad = good;
    ++bad[i];
    EXPECT_EQ(check_tcp(request, bad), tl::unexpected{BusFault::corrupt_reply}) << "byte " << i;
  }
}

// The CRC of Modbus has Hamming distance 4 for frames of this size. Source: P. Koopman and
// T. Chakravarty, "Cyclic redundancy code polynomial selection for embedded networks", DSN 2004.
TEST(Frame, is_never_believed_with_up_to_three_flipped_bits) {
  const Request request = read_request(5, Table::holding_register, 0x10, 2);
  const Bytes good = rtu_frame(5, {3, 4, 0x43, 0x21, 0x0A, 0xBC});
  std::mt19937 random{20240611};
  std::uniform_int_distribution<std::size_t> any_bit{0, good.size() * 8 - 1};
  for (int round = 0; round < 20000; ++round) {
    Bytes bad = good;
    for (int flips = 1 + round % 3; flips > 0; --flips) {
      const std::size_t bit = any_bit(random);
      bad[bit / 8] = static_cast<std::uint8_t>(bad[bit / 8] ^ (1U << (bit % 8)));
    }
    if (bad == good) {
      continue;
    }
    ASSERT_EQ(check_rtu(request, bad), tl::unexpected{BusFault::corrupt_reply}) << round;
  }
}

// Noise that leans towards looking right: random length, each byte right with probability 7/8.
TEST(Frame, is_believed_if_and_only_if_it_is_the_answer) {
  const Request request = read_request(5, Table::holding_register, 0x10, 2);
  const Bytes head{0, 0, 0, 0, 0, 7, 5, 3, 4};
  std::mt19937 random{7};
  std::uniform_int_distribution<int> any_byte{0, 255};
  std::uniform_int_distribution<std::size_t> any_size{0, 15};
  int believed = 0;
  for (int round = 0; round < 200000; ++round) {
    Bytes frame(round % 4 == 0 ? any_size(random) : 13);
    for (std::size_t i = 0; i < frame.size(); ++i) {
      const bool lean = i < head.size() && any_byte(random) < 224;
      frame[i] = lean ? head[i] : static_cast<std::uint8_t>(any_byte(random));
    }
    const bool is_answer =
        frame.size() == 13 && std::equal(head.begin(), head.end(), frame.begin());
    const auto answer = check_tcp(request, frame);
    ASSERT_EQ(answer.has_value(), is_answer) << "round " << round;
    believed += is_answer ? 1 : 0;
  }
  EXPECT_GT(believed, 1000);
}

TEST(Frame, is_never_believed_when_it_is_plain_noise) {
  const Request requests[] = {read_request(1, Table::coil, 0, 9), write_register(2, 3, 4),
                              read_request(1, Table::holding_register, 0, 125)};
  std::mt19937 random{99};
  std::uniform_int_distribution<int> any_byte{0, 255};
  std::uniform_int_distribution<std::size_t> any_size{0, 260};
  for (int round = 0; round < 20000; ++round) {
    Bytes noise(any_size(random));
    for (auto& byte : noise) {
      byte = static_cast<std::uint8_t>(any_byte(random));
    }
    for (const Request& request : requests) {
      ASSERT_FALSE(check_rtu(request, noise).has_value()) << "round " << round;
      ASSERT_FALSE(check_tcp(request, noise).has_value()) << "round " << round;
    }
  }
}

}  // namespace
}  // namespace limegate::modbus
