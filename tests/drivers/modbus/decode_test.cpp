#include "modbus/decode.h"

#include <bit>
#include <cmath>
#include <limits>
#include <ostream>
#include <string>
#include <vector>

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

namespace limegate::modbus {
namespace {

using Words = std::vector<std::uint16_t>;

ProbeSettings probe_of(Encoding encoding, WordOrder order = WordOrder::abcd) {
  ProbeSettings probe;
  probe.encoding = encoding;
  probe.word_order = order;
  return probe;
}

struct Case {
  const char* name;
  Encoding encoding;
  WordOrder order;
  Words words;
  double expected;
};
std::ostream& operator<<(std::ostream& out, const Case& row) { return out << row.name; }

// 123456.0 is 47F1 2000 in IEEE 754 binary32 (1.8837890625 x 2^16). Integers: two's complement.
const Case kCases[] = {
    {"uint16_largest", Encoding::uint16, WordOrder::abcd, {0xFFFF}, 65535},
    {"uint16_zero", Encoding::uint16, WordOrder::abcd, {0}, 0},
    {"int16_minus_one", Encoding::int16, WordOrder::abcd, {0xFFFF}, -1},
    {"int16_lowest", Encoding::int16, WordOrder::abcd, {0x8000}, -32768},
    {"int16_highest", Encoding::int16, WordOrder::abcd, {0x7FFF}, 32767},
    {"uint32_abcd", Encoding::uint32, WordOrder::abcd, {0x0102, 0x0304}, 0x01020304},
    {"uint32_cdab", Encoding::uint32, WordOrder::cdab, {0x0304, 0x0102}, 0x01020304},
    {"uint32_badc", Encoding::uint32, WordOrder::badc, {0x0201, 0x0403}, 0x01020304},
    {"uint32_dcba", Encoding::uint32, WordOrder::dcba, {0x0403, 0x0201}, 0x01020304},
    {"uint32_largest", Encoding::uint32, WordOrder::abcd, {0xFFFF, 0xFFFF}, 4294967295.0},
    {"int32_minus_two", Encoding::int32, WordOrder::abcd, {0xFFFF, 0xFFFE}, -2},
    {"int32_lowest", Encoding::int32, WordOrder::cdab, {0x0000, 0x8000}, -2147483648.0},
    {"float32_abcd", Encoding::float32, WordOrder::abcd, {0x47F1, 0x2000}, 123456},
    {"float32_cdab", Encoding::float32, WordOrder::cdab, {0x2000, 0x47F1}, 123456},
    {"float32_badc", Encoding::float32, WordOrder::badc, {0xF147, 0x0020}, 123456},
    {"float32_dcba", Encoding::float32, WordOrder::dcba, {0x0020, 0xF147}, 123456},
    {"float32_negative_zero", Encoding::float32, WordOrder::abcd, {0x8000, 0}, 0},
    {"float32_smallest", Encoding::float32, WordOrder::abcd, {0, 1}, 0x1p-149},
    {"bit_in_a_register", Encoding::bit, WordOrder::abcd, {4}, 1},
    {"bit_clear_in_a_register", Encoding::bit, WordOrder::abcd, {0}, 0},
};

class DecodeTable : public testing::TestWithParam<Case> {};
INSTANTIATE_TEST_SUITE_P(Rows, DecodeTable, testing::ValuesIn(kCases),
                         [](const auto& row) { return std::string{row.param.name}; });

TEST_P(DecodeTable, gives_the_number) {
  const auto probe = probe_of(GetParam().encoding, GetParam().order);
  EXPECT_EQ(width_of(probe), GetParam().words.size());
  EXPECT_EQ(decode(probe, GetParam().words), GetParam().expected);
}

TEST(Decode, lets_what_is_not_finite_through_as_not_finite) {
  auto probe = probe_of(Encoding::float32);
  probe.scale = 0.5;
  probe.offset = -3.0;
  probe.conversion = ProbeSettings::Conversion::fahrenheit_to_celsius;
  EXPECT_TRUE(std::isnan(decode(probe, Words{0x7FC0, 0x0000})));
  EXPECT_TRUE(std::isnan(decode(probe, Words{0xFFFF, 0xFFFF})));
  EXPECT_EQ(decode(probe, Words{0x7F80, 0x0000}), std::numeric_limits<double>::infinity());
  EXPECT_EQ(decode(probe, Words{0xFF80, 0x0000}), -std::numeric_limits<double>::infinity());
}

TEST(Decode, is_not_finite_for_the_wrong_number_of_words) {
  EXPECT_TRUE(std::isnan(decode(probe_of(Encoding::uint16), Words{})));
  EXPECT_TRUE(std::isnan(decode(probe_of(Encoding::uint16), Words{1, 2})));
  EXPECT_TRUE(std::isnan(decode(probe_of(Encoding::float32), Words{1})));
}

TEST(Decode, scales_before_it_shifts_and_converts_last) {
  auto probe = probe_of(Encoding::int16);
  probe.scale = 0.1;
  probe.offset = -1.0;
  EXPECT_DOUBLE_EQ(decode(probe, Words{812}), 80.2);
  probe.conversion = ProbeSettings::Conversion::fahrenheit_to_celsius;
  EXPECT_NEAR(decode(probe, Words{790}), 25.555555555555557, 1e-12);  // 78 °F
}

TEST(Decode, knows_the_fixed_points_of_the_fahrenheit_scale) {
  // By definition of the scales: 32 °F is 0 °C, 212 °F is 100 °C, and -40 is the same on both.
  auto probe = probe_of(Encoding::int16);
  probe.conversion = ProbeSettings::Conversion::fahrenheit_to_celsius;
  EXPECT_DOUBLE_EQ(decode(probe, Words{32}), 0.0);
  EXPECT_DOUBLE_EQ(decode(probe, Words{212}), 100.0);
  EXPECT_DOUBLE_EQ(decode(probe, Words{static_cast<std::uint16_t>(-40)}), -40.0);
}

TEST(Decode, reads_a_coil_as_a_bit_whatever_the_encoding) {
  auto probe = probe_of(Encoding::float32);
  probe.table = Table::coil;
  EXPECT_EQ(width_of(probe), 1);
  EXPECT_EQ(decode(probe, Words{1}), 1.0);
  EXPECT_EQ(decode(probe, Words{0}), 0.0);
}

/// Takes the bytes A (highest) to D apart as the order's name says: the inverse of decoding.
Words encoded(std::uint32_t bits, const std::string& order) {
  std::uint8_t bytes[4];
  for (std::size_t i = 0; i < 4; ++i) {
    const auto letter = static_cast<unsigned>(order[i] - 'a');  // a: bits 24..31
    bytes[i] = static_cast<std::uint8_t>(bits >> (24 - 8 * letter));
  }
  return {static_cast<std::uint16_t>(bytes[0] << 8 | bytes[1]),
          static_cast<std::uint16_t>(bytes[2] << 8 | bytes[3])};
}

const std::pair<WordOrder, std::string> kOrders[] = {{WordOrder::abcd, "abcd"},
                                                     {WordOrder::cdab, "cdab"},
                                                     {WordOrder::badc, "badc"},
                                                     {WordOrder::dcba, "dcba"}};

RC_GTEST_PROP(Decode, undoes_encoding_in_every_order, (std::uint32_t bits)) {
  for (const auto& [order, name] : kOrders) {
    const Words words = encoded(bits, name);
    RC_ASSERT(decode(probe_of(Encoding::uint32, order), words) == bits);
    RC_ASSERT(decode(probe_of(Encoding::int32, order), words) == static_cast<std::int32_t>(bits));
    const auto number = std::bit_cast<float>(bits);
    const double decoded = decode(probe_of(Encoding::float32, order), words);
    const bool same =
        std::isnan(number) ? std::isnan(decoded) : decoded == static_cast<double>(number);
    RC_ASSERT(same);
  }
}

RC_GTEST_PROP(Decode, undoes_encoding_of_16_bits, (std::uint16_t bits)) {
  RC_ASSERT(decode(probe_of(Encoding::uint16), Words{bits}) == bits);
  RC_ASSERT(decode(probe_of(Encoding::int16), Words{bits}) == static_cast<std::int16_t>(bits));
}

}  // namespace
}  // namespace limegate::modbus
