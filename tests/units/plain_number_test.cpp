#include "units/plain_number.h"

#include <limits>

#include <gtest/gtest.h>

namespace limegate {
namespace {

struct Case {
  const char* name;
  double value;
  int digits;
  const char* text;
};
void PrintTo(const Case& row, std::ostream* out) { *out << row.name; }

const Case kCases[] = {
    {"ten_thousand_in_four_digits", 10000, 4, "10000"},
    {"just_below_it", 9999.4, 4, "9999"},
    {"rounded_up_to_it", 9999.6, 4, "10000"},
    {"a_hundred_percent_in_two", 100, 2, "100"},
    {"rounded_as_asked_for", 54347.8, 4, "54350"},
    {"below_nothing", -1234567, 6, "-1234570"},
    {"small", 0.00001, 4, "0.00001"},
    {"small_and_rounded", 0.0000123456, 3, "0.0000123"},
    {"as_it_is", 0.25, 4, "0.25"},
    {"nothing", 0, 4, "0"},
    {"the_least_without_an_exponent", 1e-9, 4, "0.000000001"},
    {"below_the_least", 1e-10, 4, "1e-10"},
    {"the_most_without_an_exponent", 9e14, 4, "900000000000000"},
    {"above_the_most", 1e15, 4, "1e+15"},
    {"the_largest", std::numeric_limits<double>::max(), 4, "1.798e+308"},
    {"not_a_number", std::numeric_limits<double>::quiet_NaN(), 4, "nan"},
    {"infinite", -std::numeric_limits<double>::infinity(), 4, "-inf"},
};

class PlainNumberTable : public testing::TestWithParam<Case> {};

TEST_P(PlainNumberTable, is_written_for_people) {
  EXPECT_EQ(plain_number(GetParam().value, GetParam().digits), GetParam().text);
}
INSTANTIATE_TEST_SUITE_P(, PlainNumberTable, testing::ValuesIn(kCases),
                         [](const auto& row) { return std::string{row.param.name}; });

}  // namespace
}  // namespace limegate
