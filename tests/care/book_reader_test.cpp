#include "care/book_reader.h"

#include <ostream>
#include <string>
#include <variant>
#include <vector>

#include <gtest/gtest.h>

#include "support/program.h"
#include "units/iso8601.h"

namespace limegate::care {
namespace {

using test::contains;

ReadBook read(const std::string& rows, const std::string& header = "time,what,value,unit\n") {
  auto book = read_book(header + rows);
  EXPECT_TRUE(book) << (book ? "" : book.error());
  return book ? *book : ReadBook{};
}

template <class What>
What only(const std::string& row) {
  const ReadBook book = read(row + "\n");
  EXPECT_EQ(book.remarks.size(), 0U) << (book.remarks.empty() ? "" : book.remarks[0].what);
  EXPECT_EQ(book.book.entries.size(), 1U);
  if (book.book.entries.size() != 1 || !std::holds_alternative<What>(book.book.entries[0].what)) {
    ADD_FAILURE() << "another entry: " << row;
    return {};
  }
  return std::get<What>(book.book.entries[0].what);
}

// 1 meq/L = 2.8039 dKH = 50.04 ppm CaCO3 (TRADE.md).
TEST(BookReader, knows_every_entry_and_its_units) {
  const std::string at = "2026-09-01T10:00:00Z,";
  EXPECT_NEAR(only<AlkalinityTest>(at + "alkalinity,8.1,dKH").level.count(), 8.1, 1e-9);
  EXPECT_NEAR(only<AlkalinityTest>(at + "alkalinity,2.9,meq/L").level.count(), 8.131, 0.001);
  EXPECT_NEAR(only<AlkalinityTest>(at + "Alkalinity,2.9, mmol/l").level.count(), 8.131, 0.001);
  EXPECT_NEAR(only<AlkalinityTest>(at + "alkalinity,145,ppm CaCO3").level.count(), 8.124, 0.001);
  EXPECT_NEAR(only<AlkalinityTest>(at + "alkalinity,145,ppm").level.count(), 8.124, 0.001);
  EXPECT_EQ(only<CalciumTest>(at + "calcium,420,mg/L").level.count(), 420);
  EXPECT_EQ(only<MagnesiumTest>(at + "magnesium,1300,ppm").level.count(), 1300);
  EXPECT_EQ(only<LimewaterGiven>(at + "limewater,1900,mL").volume.count(), 1900);
  EXPECT_EQ(only<LimewaterGiven>(at + "limewater,0,mL").volume.count(), 0);
  EXPECT_EQ(only<LimewaterGiven>(at + "limewater,1.9,L").volume.count(), 1900);
  EXPECT_EQ(only<WaterChange>(at + "water_change,40,L").volume.count(), 40);
  EXPECT_EQ(only<NewWater>(at + "new_water,8.5,dKH").alkalinity.count(), 8.5);
  EXPECT_EQ(only<Supplement>(at + "supplement,60,meq").alkalinity.count(), 60);
  EXPECT_EQ(only<SalinityTest>(at + "salinity,35.2,ppt").level.count(), 35.2);
  EXPECT_EQ(only<SalinityTest>(at + "salinity,35.2,").level.count(), 35.2);
  EXPECT_EQ(only<PhosphateTest>(at + "phosphate,0.03,mg/L").level.count(), 0.03);
  EXPECT_EQ(only<PhTest>(at + "pH,8.2,").level.count(), 8.2);
  EXPECT_NEAR(only<PowderAdded>(at + "powder,130,g").mass.count(), 0.130, 1e-12);
  EXPECT_NEAR(only<RateMeasured>(at + "rate,3,L/h").rate.count(), 50.0, 1e-9);
  (void)only<ReactorCleaned>(at + "cleaned,,");
  (void)only<ProbeCalibrated>(at + "calibrated,,");
}

TEST(BookReader, reads_what_tables_are_written_by_as_they_do_it) {
  const ReadBook book = read(
      "2026-09-08T10:00:00+02:00,alkalinity,8.3,dKH,\"Kit, the new one\"\r\n"
      "\r\n# a remark\r\n"
      "\"2026-09-01T10:00:00Z\",\"alkalinity\",\"8.1\",\"dKH\"",
      "\xEF\xBB\xBFTime, What ,value,unit,kit\r\n");
  EXPECT_TRUE(book.remarks.empty());
  ASSERT_EQ(book.book.entries.size(), 2U);
  EXPECT_EQ(iso8601(book.book.entries[0].at), "2026-09-01T10:00:00Z");  // by time
  EXPECT_EQ(book.book.entries[0].line, 5);
  EXPECT_EQ(iso8601(book.book.entries[1].at), "2026-09-08T08:00:00Z");
  EXPECT_EQ(std::get<AlkalinityTest>(book.book.entries[1].what).kit, "Kit, the new one");
}

// Every one of them is RFC 3339, section 5.6: the letters in either case, a blank in place of T,
// any number of decimals, an offset that says UTC or not.
TEST(BookReader, reads_every_form_of_a_time) {
  for (const char* time :
       {"2026-09-01T10:00:00Z", "2026-09-01t10:00:00z", "2026-09-01 10:00:00Z",
        "2026-09-01T10:00:00+00:00", "2026-09-01T10:00:00-00:00", "2026-09-01 10:00:00+00:00",
        "2026-09-01T10:00:00.0Z", "2026-09-01T10:00:00.000000+00:00",
        "2026-09-01T10:00:00.000000000000Z", "2026-09-01T15:30:00+05:30",
        "2026-08-31T23:00:00-11:00", " 2026-09-01T10:00:00Z\t", "\"2026-09-01T10:00:00Z\""}) {
    const ReadBook book = read(std::string{time} + ",alkalinity,8.1,dKH\n");
    EXPECT_TRUE(book.remarks.empty()) << time;
    ASSERT_EQ(book.book.entries.size(), 1U) << time;
    EXPECT_EQ(iso8601(book.book.entries[0].at), "2026-09-01T10:00:00Z") << time;
  }
}

TEST(BookReader, reads_every_form_of_a_number) {
  for (const char* number : {"8.1", "8.10", "08.1", "81e-1", "0.81E1", " 8.1 ", "\"8.1\""}) {
    EXPECT_NEAR(
        only<AlkalinityTest>("2026-09-01T10:00:00Z,alkalinity," + std::string{number} + ",dKH")
            .level.count(),
        8.1, 1e-9)
        << number;
  }
}

// As a sheet saves them: nothing may be lost of it, or be said of another line.
TEST(BookReader, counts_lines_of_either_ending_alike) {
  const ReadBook book = read(
      "2026-09-01T10:00:00Z,alkalinity,8.1,dKH\r\n\r\n2026-09-08T10:00:00Z,alkalinity,-8.1,dKH\n"
      "2026-09-15T10:00:00Z,alkalinity,8.3,dKH",
      "time,what,value,unit\r\n");
  EXPECT_EQ(book.book.entries.size(), 2U);
  ASSERT_EQ(book.remarks.size(), 1U);
  EXPECT_EQ(book.remarks[0].sentence().substr(0, 41), "line 4: alkalinity of -8.1 dKH can't be t");
}

TEST(BookReader, keeps_the_order_of_rows_of_one_time) {
  const ReadBook book = read(
      "2026-09-01T10:00:00Z,new_water,8.5,dKH\n2026-09-01T10:00:00Z,water_change,40,L\n"
      "2026-08-01T10:00:00Z,water_change,30,L\n");
  ASSERT_EQ(book.book.entries.size(), 3U);
  EXPECT_TRUE(std::holds_alternative<NewWater>(book.book.entries[1].what));
}

struct Case {
  const char* name;
  std::string row;
  std::string says;
};
void PrintTo(const Case& one, std::ostream* out) { *out << one.name; }

class BookReaderTable : public ::testing::TestWithParam<Case> {};

TEST_P(BookReaderTable, leaves_the_row_out_and_says_why) {
  const ReadBook book = read(GetParam().row + "\n");
  EXPECT_TRUE(book.book.entries.empty());
  ASSERT_EQ(book.remarks.size(), 1U);
  EXPECT_EQ(book.remarks[0].line, 2);
  EXPECT_TRUE(contains(book.remarks[0].sentence(), GetParam().says)) << book.remarks[0].what;
  EXPECT_TRUE(contains(book.remarks[0].what, "Not used: ")) << book.remarks[0].what;
}

const std::string kAt = "2026-09-01T10:00:00Z,";
const Case kCases[] = {
    {"alkalinity_ten_times", kAt + "alkalinity,81,dKH", "alkalinity of 81 dKH can't be true"},
    {"alkalinity_ppm_as_dkh", kAt + "alkalinity,145,dKH", "the wrong unit"},
    {"alkalinity_ten_times_in_ppm", kAt + "alkalinity,1450,ppm", "slip by ten"},
    {"alkalinity_below_zero", kAt + "alkalinity,-8.1,dKH", "can't be true"},
    {"alkalinity_in_mg", kAt + "alkalinity,420,mg/L", "can't be in 'mg/L'"},
    {"alkalinity_without_unit", kAt + "alkalinity,8.1,", "has no unit"},
    {"calcium_in_dkh", kAt + "calcium,8.1,dKH", "can't be in 'dKH'"},
    {"calcium_ten_times", kAt + "calcium,4200,mg/L", "slip by ten"},
    {"calcium_a_tenth", kAt + "calcium,42,mg/L", "slip by ten"},
    {"magnesium_a_tenth", kAt + "magnesium,130,mg/L", "slip by ten"},
    {"limewater_below_zero", kAt + "limewater,-1,mL", "limewater of -1 mL can't be true"},
    {"limewater_in_dkh", kAt + "limewater,1,dKH", "can't be in 'dKH'"},
    {"limewater_in_grams", kAt + "limewater,1,g", "write one of mL, L"},
    {"water_change_below_zero", kAt + "water_change,-4,L", "can't be true"},
    {"new_water_ten_times", kAt + "new_water,85,dKH", "slip by ten"},
    {"supplement_below_zero", kAt + "supplement,-4,meq", "can't be true"},
    {"not_a_number", kAt + "alkalinity,nan,dKH", "'nan' is no number"},
    {"infinite", kAt + "alkalinity,inf,dKH", "'inf' is no number"},
    {"too_large_a_number", kAt + "limewater,1e999,mL", "is no number"},
    {"a_word", kAt + "alkalinity,high,dKH", "'high' is no number"},
    {"a_number_and_more", kAt + "alkalinity,8.1x,dKH", "is no number"},
    {"a_decimal_comma", kAt + "alkalinity,8,1,dKH", "has 5 values where the header has 4"},
    {"a_decimal_comma_in_quotes", kAt + "alkalinity,\"8,1\",dKH", "a point before decimals"},
    {"too_few_values", kAt + "alkalinity,8.1", "has 3 values"},
    {"an_unknown_word", kAt + "akalinity,8.1,dKH", "'akalinity' is not known here"},
    {"a_day_without_time", "2026-09-01,alkalinity,8.1,dKH", "'2026-09-01' is no time"},
    {"a_time_without_offset", "2026-09-01T10:00:00,alkalinity,8.1,dKH", "in place of Z"},
    {"a_time_without_seconds", "2026-09-01T10:00Z,alkalinity,8.1,dKH", "is no time"},
    {"an_offset_without_colon", "2026-09-01T10:00:00+0000,alkalinity,8.1,dKH", "is no time"},
    {"an_offset_without_minutes", "2026-09-01T10:00:00+00,alkalinity,8.1,dKH", "is no time"},
    {"a_point_without_decimals", "2026-09-01T10:00:00.Z,alkalinity,8.1,dKH", "is no time"},
    {"hour_24", "2026-09-01T24:00:00Z,alkalinity,8.1,dKH", "is no time"},
    {"seconds_since_1970", "1788256800,alkalinity,8.1,dKH", "'1788256800' is no time"},
    {"alkalinity_below_zero_in_meq", kAt + "alkalinity,-2.9,meq/L", "of -2.9 meq/L can't be true"},
    {"alkalinity_below_zero_in_quotes", kAt + "alkalinity,\"-8.1\",dKH", "can't be true"},
    {"a_plus", kAt + "alkalinity,+8.1,dKH", "'+8.1' is no number"},
    {"in_hexadecimal", kAt + "alkalinity,0x8,dKH", "'0x8' is no number"},
    {"not_a_number_below_zero", kAt + "alkalinity,-NaN,dKH", "'-NaN' is no number"},
    {"no_value", kAt + "alkalinity,,dKH", "'' is no number"},
    {"thousands", kAt + "limewater,\"1,900\",mL", "'1,900' is no number"},
    {"a_comma_at_the_end", kAt + "alkalinity,8.1,dKH,", "has 5 values where the header has 4"},
    {"a_unit_with_a_day", kAt + "limewater,1900,mL/day", "write one of mL, L"},
    {"salinity_as_density", kAt + "salinity,1.026,psu", "can't be true"},
    {"phosphate_ten_times", kAt + "phosphate,30,mg/L", "slip by ten"},
    {"ph_ten_times", kAt + "ph,82,", "ph of 82 can't be true"},
    {"ph_in_mv", kAt + "ph,-70,mV", "can't be in 'mV'"},
    {"powder_below_zero", kAt + "powder,-130,g", "can't be true"},
    {"powder_in_kilos_as_grams", kAt + "powder,130,kg", "can't be true"},
    {"rate_of_nothing", kAt + "rate,0,mL/min", "can't be true"},
    {"cleaned_with_a_value", kAt + "cleaned,1,", "cleaned takes no value"},
    {"no_day", "2026-09-31T10:00:00Z,alkalinity,8.1,dKH", "is no time"},
    {"no_time", ",alkalinity,8.1,dKH", "'' is no time"},
    {"bytes_that_are_no_text", kAt + "alk\x01\xFF,8.1,dKH",
     "'alk?"
     "?' is not known"},
    {"a_quote_that_never_ends", kAt + "\"alkalinity,8.1,dKH", "has 2 values"}};

INSTANTIATE_TEST_SUITE_P(BadRows, BookReaderTable, ::testing::ValuesIn(kCases),
                         [](const auto& one) { return std::string{one.param.name}; });

TEST(BookReader, reads_what_it_wrote) {
  const WallTime at{std::chrono::hours{490000}};
  const std::vector<Written> rows{{at, "alkalinity", "8.1", "dKH", "drops, \"new\""},
                                  {at + std::chrono::seconds{1}, "cleaned", "", ""},
                                  {at + std::chrono::hours{1}, "water_change", "40", "L"}};
  const auto read = read_rows(csv_of(rows));
  ASSERT_TRUE(read);
  ASSERT_EQ(read->size(), rows.size());
  for (std::size_t i = 0; i < rows.size(); ++i) {
    EXPECT_EQ((*read)[i].written, rows[i]) << i;
    EXPECT_EQ((*read)[i].wrong, "");
  }
}

TEST(BookReader, takes_a_value_and_its_unit_apart) {
  const auto apart = [](const char* text) {
    const Measured one = measured(text);
    return one.value + "|" + one.unit;
  };
  EXPECT_EQ(apart("8.1dKH"), "8.1|dKH");
  EXPECT_EQ(apart(" 8.1 dKH "), "8.1|dKH");
  EXPECT_EQ(apart("-1e2mL"), "-1e2|mL");
  EXPECT_EQ(apart("145 ppm CaCO3"), "145|ppm CaCO3");
  EXPECT_EQ(apart("8.2"), "8.2|");
  EXPECT_EQ(apart("dKH"), "|dKH");
  EXPECT_EQ(apart("8,1dKH"), "8|,1dKH");
  EXPECT_EQ(apart(""), "|");
}

TEST(BookReader, writes_names_and_units_as_it_knows_them) {
  Written row{{}, " Water-Change", "40", "l"};
  ASSERT_TRUE(read_entry(row));
  EXPECT_EQ(row.what, "water_change");
  EXPECT_EQ(row.unit, "L");
}

TEST(BookReader, says_everything_that_is_wrong_at_once_and_keeps_the_rest) {
  const ReadBook book = read(
      "2026-09-01T10:00:00Z,alkalinity,81,dKH\nnever,alkalinity,8.1,dKH\n"
      "2026-09-02T10:00:00Z,alkalinity,8.1,dKH\n2026-09-03T10:00:00Z,limewater,-3,mL\n");
  EXPECT_EQ(book.book.entries.size(), 1U);
  ASSERT_EQ(book.remarks.size(), 3U);
  EXPECT_EQ(book.remarks[1].line, 3);
  EXPECT_EQ(book.remarks[2].line, 5);
}

TEST(BookReader, refuses_what_is_no_book) {
  for (const std::string text :
       {"", "\n\n", "time;what;value;unit\n", "2026-09-01T10:00:00Z,alkalinity,8.1,dKH\n",
        "time,what,value\n", "time,what,unit,value\n", "time,what,value,unit,kit,more\n",
        "time,what,value,unit\r2026-09-01T10:00:00Z,alkalinity,8.1,dKH\r",  // of old machines
        "\xFF\xFEt,i,m,e", "[daemon]\nstate_dir = 1\n"}) {
    const auto book = read_book(text);
    ASSERT_FALSE(book) << text;
    EXPECT_TRUE(contains(book.error(), "time,what,value,unit")) << book.error();
  }
}

}  // namespace
}  // namespace limegate::care
