// Homie's payloads. Source of the grammar: the Homie convention 5.0.0, "Payload": integer, float,
// boolean and string; of UTF-8: RFC 3629, section 4 and its list of illegal sequences.

#include "mqtt/payload.h"

#include <limits>

#include <gtest/gtest.h>

namespace limegate::mqtt {
namespace {

using namespace std::string_literals;  // NOLINT(google-build-using-namespace): literals only

struct FloatRow {
  const char* name;
  std::string payload;
  std::optional<double> value;
};
void PrintTo(const FloatRow& row, std::ostream* out) { *out << row.name; }

class FloatTable : public ::testing::TestWithParam<FloatRow> {};

TEST_P(FloatTable, IsReadAsHomieWritesIt) {
  const auto read = read_float(GetParam().payload);
  EXPECT_EQ(read ? std::optional{*read} : std::nullopt, GetParam().value) << GetParam().payload;
}

INSTANTIATE_TEST_SUITE_P(
    Floats, FloatTable,
    ::testing::Values(FloatRow{"whole", "12", 12.0}, FloatRow{"zero", "0", 0.0},
                      FloatRow{"negative", "-3.5", -3.5}, FloatRow{"fraction", "0.25", 0.25},
                      FloatRow{"no_digit_before_the_point", ".5", 0.5},
                      FloatRow{"exponent", "1e2", 100.0},
                      FloatRow{"capital_exponent", "1E2", 100.0},
                      FloatRow{"negative_exponent", "5e-1", 0.5}, FloatRow{"plus", "+5", {}},
                      FloatRow{"plus_in_the_exponent", "1e+2", {}}, FloatRow{"empty", "", {}},
                      FloatRow{"space_before", " 5", {}}, FloatRow{"space_after", "5 ", {}},
                      FloatRow{"newline_after", "5\n", {}}, FloatRow{"not_a_number", "NaN", {}},
                      FloatRow{"small_nan", "nan", {}}, FloatRow{"infinity", "Infinity", {}},
                      FloatRow{"inf", "inf", {}}, FloatRow{"too_large", "1e400", {}},
                      FloatRow{"hexadecimal", "0x10", {}}, FloatRow{"decimal_comma", "1,5", {}},
                      FloatRow{"two_points", "1.2.3", {}}, FloatRow{"only_a_point", ".", {}},
                      FloatRow{"only_a_minus", "-", {}}, FloatRow{"two_minuses", "--1", {}},
                      FloatRow{"empty_exponent", "1e", {}},
                      FloatRow{"zero_byte_after", "5\0"s, {}}),
    [](const auto& row) { return row.param.name; });

struct IntegerRow {
  const char* name;
  std::string payload;
  std::optional<std::int64_t> value;
};
void PrintTo(const IntegerRow& row, std::ostream* out) { *out << row.name; }

class IntegerTable : public ::testing::TestWithParam<IntegerRow> {};

TEST_P(IntegerTable, IsReadAsHomieWritesIt) {
  const auto read = read_integer(GetParam().payload);
  EXPECT_EQ(read ? std::optional{*read} : std::nullopt, GetParam().value) << GetParam().payload;
}

INSTANTIATE_TEST_SUITE_P(
    Integers, IntegerTable,
    ::testing::Values(IntegerRow{"plain", "42", 42}, IntegerRow{"negative", "-1", -1},
                      IntegerRow{"largest", "9223372036854775807",
                                 std::numeric_limits<std::int64_t>::max()},
                      IntegerRow{"one_above_the_largest", "9223372036854775808", {}},
                      IntegerRow{"plus", "+1", {}}, IntegerRow{"point", "1.0", {}},
                      IntegerRow{"exponent", "1e2", {}}, IntegerRow{"empty", "", {}},
                      IntegerRow{"space", " 1", {}}, IntegerRow{"words", "ten", {}}),
    [](const auto& row) { return row.param.name; });

TEST(Booleans, AreTwoWordsAndNothingElse) {
  EXPECT_EQ(read_boolean("true"), true);
  EXPECT_EQ(read_boolean("false"), false);
  for (const char* wrong : {"TRUE", "True", "1", "0", "on", "", " true", "true "}) {
    EXPECT_FALSE(read_boolean(wrong)) << wrong;
  }
}

TEST(Strings, AnEmptyOneIsTheByteZero) {
  EXPECT_EQ(string_payload(""), "\0"s);
  EXPECT_EQ(read_string("\0"s), "");
  EXPECT_FALSE(read_string(""));
  EXPECT_EQ(read_string("reef"), "reef");
}

TEST(Strings, AreUtf8) {
  for (const char* good : {"plain", "\xC2\xB0", "\xE2\x82\xAC", "\xF0\x9F\x90\xA0", "\xED\x9F\xBF",
                           "\xF4\x8F\xBF\xBF"}) {
    EXPECT_TRUE(is_utf8(good)) << good;
  }
  for (const char* bad : {"\x80", "\xC3\x28", "\xC0\xAF", "\xE0\x80\xAF", "\xED\xA0\x80",
                          "\xF5\x80", "\xF4\x90\x80\x80", "\xE2\x82", "\xFF"}) {
    EXPECT_FALSE(is_utf8(bad)) << bad;
  }
}

TEST(Numbers, ArePlainDecimals) {
  EXPECT_EQ(number_text(8.2, 3), "8.200");
  EXPECT_EQ(number_text(1e9, 1), "1000000000.0");
  EXPECT_EQ(number_text(-0.5, 1), "-0.5");
  EXPECT_EQ(number_text(-0.0004, 3), "0.000") << "never -0";
  EXPECT_EQ(number_text(-0.0006, 3), "-0.001");
  EXPECT_EQ(exact_number_text(-0.0), "0");
  EXPECT_EQ(exact_number_text(2000.0), "2000");
  EXPECT_EQ(exact_number_text(0.1), "0.1");
  EXPECT_EQ(exact_number_text(1e21), "1000000000000000000000");
  for (const double value : {1e300, 1e-300, 83.333333333333329}) {
    EXPECT_EQ(read_float(exact_number_text(value)), value) << "reads back as the same number";
  }
}

TEST(Ids, HaveSmallLettersDigitsAndHyphens) {
  EXPECT_TRUE(is_id("ph-2"));
  for (const char* wrong : {"", "pH", "a_b", "a.b", "a/b", "\xC3\xA4", "+", "#", "$state"}) {
    EXPECT_FALSE(is_id(wrong)) << wrong;
  }
}

TEST(Quotes, AreShortAndPrintable) {
  EXPECT_EQ(mqtt::quoted("a\nb\x80"), "'a?b?'");
  EXPECT_LT(mqtt::quoted(std::string(1000, 'x')).size(), 50U);
}

}  // namespace
}  // namespace limegate::mqtt
