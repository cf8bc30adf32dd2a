#include "chemistry/seawater_constants.h"

#include <cmath>
#include <limits>
#include <string>

#include <gtest/gtest.h>

#include "support/csv_table.h"

namespace limegate::chemistry {
namespace {

using limegate::testing::CsvRow;
using limegate::testing::number;
using limegate::testing::read_csv;

std::string published(const std::string& quantity) {
  for (const CsvRow& row : read_csv("equilibrium_constants.csv")) {
    if (row.at("quantity") == quantity) {
      return row.at("published");
    }
  }
  ADD_FAILURE() << quantity << " is not in the table";
  return {};
}

/// The value rounded to the digits that the guide prints: equal text means every printed digit.
std::string to_digits_of(const std::string& printed, double value) {
  const auto decimals = printed.size() - printed.find('.') - 1;
  std::string text(32, '\0');
  const int length =
      std::snprintf(text.data(), text.size(), "%.*f", static_cast<int>(decimals), value);
  text.resize(static_cast<std::size_t>(length));
  return text;
}

// Dickson, Sabine & Christian 2007, chapter 5, as quoted in tests/data/equilibrium_constants.csv.
TEST(SeawaterConstants, give_every_printed_digit_of_the_guide_at_salinity_35_and_25_degrees) {
  const auto c = seawater_constants(Salinity{35.0}, Celsius{25.0});
  ASSERT_TRUE(c);
  EXPECT_EQ(to_digits_of(published("K0"), std::log(c->k0)), published("K0"));
  EXPECT_EQ(to_digits_of(published("K1_Lueker"), std::log10(c->k1)), published("K1_Lueker"));
  EXPECT_EQ(to_digits_of(published("K2_Lueker"), std::log10(c->k2)), published("K2_Lueker"));
  EXPECT_EQ(to_digits_of(published("KB_Dickson"), std::log(c->kb)), published("KB_Dickson"));
  EXPECT_EQ(to_digits_of(published("KS_Dickson"), std::log(c->ks)), published("KS_Dickson"));
}

// The guide takes 0.015 from ln KW on the seawater scale for the total scale; the exact conversion
// used here takes 0.0224 (the table's column pyco2sys). Both are checked, each to its last digit.
TEST(SeawaterConstants, water_matches_the_guide_by_its_convention_and_the_table_by_exact_scales) {
  const auto c = seawater_constants(Salinity{35.0}, Celsius{25.0});
  ASSERT_TRUE(c);
  const double ln_seawater_scale = std::log(c->kw) - std::log(10.0) * c->to_seawater;
  EXPECT_EQ(to_digits_of(published("KW_Millero"), ln_seawater_scale - 0.015),
            published("KW_Millero"));
  EXPECT_EQ(to_digits_of("-30.44113", std::log(c->kw)), "-30.44113");
}

// Weiss 1974, Table III: solubility of CO2 at salinity 35 and 20 degC, 3.241e-2 mol/(kg atm) (from
// memory).
TEST(SeawaterConstants, carbon_dioxide_dissolves_as_in_the_table_of_its_paper) {
  const auto c = seawater_constants(Salinity{35.0}, Celsius{20.0});
  ASSERT_TRUE(c);
  EXPECT_NEAR(c->k0, 3.241e-2, 1e-5);
}

// tests/data/carbonate_points.csv, every row; the table prints ten digits.
TEST(SeawaterConstants, match_every_row_of_the_reference_points) {
  for (const CsvRow& row : read_csv("carbonate_points.csv")) {
    SCOPED_TRACE(row.at("S") + " " + row.at("T_C"));
    const auto c = seawater_constants(Salinity{number(row, "S")}, Celsius{number(row, "T_C")});
    ASSERT_TRUE(c);
    const auto near = [&](double value, const char* column) {
      EXPECT_NEAR(value / number(row, column), 1.0, 1e-8) << column;
    };
    near(c->k0, "K0");
    near(c->k1, "K1");
    near(c->k2, "K2");
    near(c->kb, "KB");
    near(c->kw, "KW");
    near(c->ks, "KS_free");
    near(c->kf, "KF_free");
    near(c->ksp_aragonite, "KspAr");
    near(c->boron * 1e6, "TB");
    near(c->calcium.count(), "Ca");
    near(c->sulfate * 1e6, "TS");
    near(c->fluoride * 1e6, "TF");
    near(std::pow(10.0, c->to_seawater - c->to_nbs), "fH_TWB82");
    near(c->fugacity_share * number(row, "pCO2"), "fCO2");
    EXPECT_NEAR(c->density.count() * 1000.0, number(row, "rho_kg_m3"), 0.05);  // TEOS-10
  }
}

TEST(SeawaterConstants, boron_of_lee_is_four_percent_more) {
  for (const CsvRow& row : read_csv("carbonate_points.csv")) {
    const auto c = seawater_constants(Salinity{number(row, "S")}, Celsius{number(row, "T_C")},
                                      BoronSource::lee_2010);
    ASSERT_TRUE(c);
    EXPECT_NEAR(c->boron * 1e6, number(row, "TB_Lee2010"), 1e-6);
  }
}

// Published offsets at salinity 35 (shared trade figures: +0.126 / +0.137 / +0.148 at 20/25/30
// degC, Takahashi et al. 1982).
TEST(SeawaterConstants, nbs_scale_lies_above_the_total_scale_by_the_published_offset) {
  const double temperatures[] = {20.0, 25.0, 30.0};
  const double offsets[] = {0.126, 0.137, 0.148};
  for (int i = 0; i < 3; ++i) {
    const auto c = seawater_constants(Salinity{35.0}, Celsius{temperatures[i]});
    ASSERT_TRUE(c);
    EXPECT_NEAR(c->to_nbs, offsets[i], 0.0006);
  }
}

TEST(SeawaterConstants, scales_convert_there_and_back) {
  const auto c = seawater_constants(Salinity{33.0}, Celsius{27.0});
  ASSERT_TRUE(c);
  const PhTotal ph{8.05};
  EXPECT_NEAR(to_total(*c, to_free(*c, ph)).count(), 8.05, 1e-14);
  EXPECT_NEAR(to_total(*c, to_seawater(*c, ph)).count(), 8.05, 1e-14);
  EXPECT_NEAR(to_total(*c, to_nbs(*c, ph)).count(), 8.05, 1e-14);
  EXPECT_LT(to_seawater(*c, ph).count(), 8.05);
  EXPECT_GT(to_free(*c, ph).count(), 8.05);
}

struct RangeCase {
  const char* name;
  double salinity;
  double temperature;
  const char* quantity;  // of the fault; empty where there is none
};
// NOLINTNEXTLINE(readability-identifier-naming): gtest's name
void PrintTo(const RangeCase& c, std::ostream* out) { *out << c.name; }

constexpr double kNan = std::numeric_limits<double>::quiet_NaN();
constexpr double kInfinity = std::numeric_limits<double>::infinity();

// The bounds are those of Lueker et al. 2000: salinity 19..43, 2..35 degC.
const RangeCase kRangeCases[] = {
    {"salinity_below", 18.999, 25.0, "salinity"},
    {"salinity_at_lowest", 19.0, 25.0, ""},
    {"salinity_at_highest", 43.0, 25.0, ""},
    {"salinity_above", 43.001, 25.0, "salinity"},
    {"salinity_not_a_number", kNan, 25.0, "salinity"},
    {"temperature_below", 35.0, 1.999, "temperature"},
    {"temperature_at_lowest", 35.0, 2.0, ""},
    {"temperature_at_highest", 35.0, 35.0, ""},
    {"temperature_above", 35.0, 35.001, "temperature"},
    {"temperature_not_a_number", 35.0, kNan, "temperature"},
    {"temperature_infinite", 35.0, kInfinity, "temperature"},
};

class SeawaterConstantsTable : public ::testing::TestWithParam<RangeCase> {};

TEST_P(SeawaterConstantsTable, are_given_inside_the_range_and_refused_outside) {
  const RangeCase& row = GetParam();
  const auto c = seawater_constants(Salinity{row.salinity}, Celsius{row.temperature});
  if (std::string{row.quantity}.empty()) {
    EXPECT_TRUE(c);
    return;
  }
  ASSERT_FALSE(c);
  EXPECT_EQ(c.error().allowed.quantity, row.quantity);
  EXPECT_NE(c.error().allowed.source.find("Lueker"), std::string_view::npos);
  const double given = c.error().allowed.quantity == "salinity" ? row.salinity : row.temperature;
  EXPECT_TRUE(c.error().value == given || std::isnan(given));
}

INSTANTIATE_TEST_SUITE_P(Ranges, SeawaterConstantsTable, ::testing::ValuesIn(kRangeCases),
                         [](const auto& row) { return std::string{row.param.name}; });

TEST(SeawaterConstants, take_a_measured_calcium_inside_its_range_only) {
  const auto c = seawater_constants(Salinity{35.0}, Celsius{25.0});
  ASSERT_TRUE(c);
  EXPECT_EQ(with_calcium(*c, MicromolPerKg{10500.0})->calcium.count(), 10500.0);
  for (const double bad : {1999.0, 17001.0, kNan}) {
    const auto refused = with_calcium(*c, MicromolPerKg{bad});
    ASSERT_FALSE(refused);
    EXPECT_EQ(refused.error().allowed.quantity, "calcium");
  }
}

}  // namespace
}  // namespace limegate::chemistry
