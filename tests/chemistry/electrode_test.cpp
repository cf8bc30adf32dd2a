#include "chemistry/electrode.h"

#include <array>
#include <cmath>
#include <limits>
#include <string>
#include <vector>

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "chemistry/ph_buffers.h"
#include "support/csv_table.h"

namespace limegate::chemistry {
namespace {

using limegate::testing::CsvRow;
using limegate::testing::number;
using limegate::testing::read_csv;

constexpr double kNan = std::numeric_limits<double>::quiet_NaN();
constexpr Celsius kRoom{25.0};
constexpr double kStep = 0.001;  // degC, for slopes between tabulated temperatures

constexpr std::array kColumns{
    "phthalate_4.005",  "phosphate_6.865", "phosphate_7.000", "phosphate_7.413", "borax_9.180",
    "carbonate_10.012", "CaOH2_12.454",    "tech_4.00",       "tech_7.00",       "tech_10.01"};

// tests/data/ph_buffers.csv: NBS standards, IUPAC 2002 within 0.001. Every value of every row.
TEST(PhBuffers, are_the_standards_at_every_tabulated_temperature) {
  for (const CsvRow& row : read_csv("ph_buffers.csv")) {
    for (std::size_t i = 0; i < kColumns.size(); ++i) {
      if (row.at(kColumns[i]).empty()) {
        continue;
      }
      const auto ph = buffer_ph(kStandardBuffers[i], Celsius{number(row, "T_C")});
      ASSERT_TRUE(ph);
      EXPECT_NEAR(ph->count(), number(row, kColumns[i]), 1e-12) << kColumns[i] << row.at("T_C");
    }
  }
}

// IUPAC 2002 (Buck et al., Pure Appl. Chem. 74, 2169) where it differs, from the head of the same
// file.
TEST(PhBuffers, are_within_a_thousandth_of_iupac_2002_where_the_two_tables_differ) {
  EXPECT_NEAR(buffer_ph(StandardBuffer::borax_9_180, Celsius{50.0})->count(), 9.011, 0.001 + 1e-9);
  EXPECT_NEAR(buffer_ph(StandardBuffer::carbonate_10_012, Celsius{35.0})->count(), 9.926,
              0.001 + 1e-9);
  EXPECT_NEAR(buffer_ph(StandardBuffer::phthalate_4_005, Celsius{20.0})->count(), 4.000,
              0.001 + 1e-9);
}

// Smooth: no jump, no kink, and no value outside of its two neighbours in the table.
TEST(PhBuffers, are_smooth_between_the_tabulated_temperatures) {
  for (const StandardBuffer buffer : kStandardBuffers) {
    const auto at = [&](double t) { return buffer_ph(buffer, Celsius{t})->count(); };
    double slope_before = (at(kStep) - at(0.0)) / kStep;
    for (int i = 1; i < 50000; ++i) {
      const double slope = (at((i + 1) * kStep) - at(i * kStep)) / kStep;
      EXPECT_LT(std::fabs(slope), 0.05);
      EXPECT_LT(std::fabs(slope - slope_before), 5e-5) << i * kStep;
      slope_before = slope;
    }
  }
}

TEST(PhBuffers, have_no_value_outside_the_table) {
  for (const double bad : {-0.001, 50.001, kNan}) {
    const auto ph = buffer_ph(StandardBuffer::borax_9_180, Celsius{bad});
    ASSERT_FALSE(ph);
    EXPECT_EQ(ph.error().allowed.quantity, "buffer temperature");
  }
}

// The same file, column nernst_mV.
TEST(Electrode, nernst_slope_is_that_of_the_table) {
  for (const CsvRow& row : read_csv("ph_buffers.csv")) {
    EXPECT_NEAR(nernst_slope(Celsius{number(row, "T_C")})->count(), number(row, "nernst_mV"), 6e-5);
  }
  for (const double bad : {-0.1, 60.1, kNan}) {
    EXPECT_FALSE(nernst_slope(Celsius{bad}));
  }
}

// Shared trade figures: ignoring temperature costs about 0.004 pH per kelvin at pH 8.2.
TEST(Electrode, reading_is_compensated_for_the_temperature_of_the_water) {
  const Electrode ideal;
  const Millivolts reading = -1.2 * *nernst_slope(kRoom);
  EXPECT_NEAR(ph_from(ideal, reading, kRoom)->count(), 8.2, 1e-12);
  const double per_kelvin =
      (*ph_from(ideal, reading, Celsius{26.0}) - *ph_from(ideal, reading, kRoom)).count();
  EXPECT_NEAR(per_kelvin, -0.004, 0.0002);
}

TEST(Electrode, reading_outside_of_what_an_electrode_gives_is_an_error) {
  const Electrode ideal;
  EXPECT_EQ(ph_from(ideal, Millivolts{500.0}, kRoom).error().allowed.quantity, "pH");
  EXPECT_FALSE(ph_from(ideal, Millivolts{-500.0}, kRoom));
  EXPECT_FALSE(ph_from(ideal, Millivolts{kNan}, kRoom));
  EXPECT_FALSE(ph_from(ideal, Millivolts{0.0}, Celsius{kNan}));
  EXPECT_EQ(
      ph_from({Percent{59.9}, Millivolts{0.0}}, Millivolts{0.0}, kRoom).error().allowed.quantity,
      "slope");
  EXPECT_FALSE(ph_from({Percent{105.1}, Millivolts{0.0}}, Millivolts{0.0}, kRoom));
  EXPECT_FALSE(ph_from({Percent{kNan}, Millivolts{0.0}}, Millivolts{0.0}, kRoom));
  EXPECT_EQ(
      ph_from({Percent{100.0}, Millivolts{100.1}}, Millivolts{0.0}, kRoom).error().allowed.quantity,
      "offset");
}

/// What an electrode of this slope and offset shows in liquid of this pH.
Millivolts shown(double slope_percent, double offset, double ph, Celsius temperature) {
  return Millivolts{offset +
                    slope_percent / 100.0 * nernst_slope(temperature)->count() * (7.0 - ph)};
}

/// A reading in a standard buffer; `actual` is what is really in the cup.
BufferReading reading(StandardBuffer buffer, double slope, double offset, double actual,
                      Celsius temperature = kRoom) {
  return {*buffer_ph(buffer, temperature), temperature, shown(slope, offset, actual, temperature)};
}
BufferReading honest(StandardBuffer buffer, double slope, double offset,
                     Celsius temperature = kRoom) {
  return reading(buffer, slope, offset, buffer_ph(buffer, temperature)->count(), temperature);
}

constexpr auto k4 = StandardBuffer::technical_4_00;
constexpr auto k7 = StandardBuffer::technical_7_00;
constexpr auto k10 = StandardBuffer::technical_10_01;

TEST(Calibration, of_three_buffers_at_three_temperatures_finds_the_electrode) {
  const std::array readings{honest(k4, 96.0, -8.0, Celsius{21.0}),
                            honest(k7, 96.0, -8.0, Celsius{24.0}),
                            honest(k10, 96.0, -8.0, Celsius{27.0})};
  const auto calibration = calibrate(readings);
  ASSERT_TRUE(calibration);
  EXPECT_NEAR(calibration->electrode.slope.count(), 96.0, 1e-9);
  EXPECT_NEAR(calibration->electrode.offset.count(), -8.0, 1e-9);
  EXPECT_EQ(calibration->slope_origin, SlopeOrigin::measured);
  EXPECT_EQ(calibration->verdict, ElectrodeVerdict::good);
}

TEST(Calibration, of_one_buffer_gives_the_offset_and_says_that_the_slope_is_assumed) {
  const std::array readings{honest(k7, 100.0, 12.0)};
  const auto calibration = calibrate(readings);
  ASSERT_TRUE(calibration);
  EXPECT_EQ(calibration->electrode.slope.count(), 100.0);
  EXPECT_NEAR(calibration->electrode.offset.count(), 12.0, 1e-9);
  EXPECT_EQ(calibration->slope_origin, SlopeOrigin::assumed);
}

struct VerdictCase {
  const char* name;
  double slope;
  double offset;
  ElectrodeVerdict verdict;
};
// NOLINTNEXTLINE(readability-identifier-naming): gtest's name
void PrintTo(const VerdictCase& c, std::ostream* out) { *out << c.name; }

// Common practice: slope 85..105 % is good, below 80 % or an offset beyond 30 mV is worn out.
const VerdictCase kVerdicts[] = {
    {"slope_of_a_new_one", 99.5, 0.0, ElectrodeVerdict::good},
    {"slope_just_below_the_impossible", 104.9, 0.0, ElectrodeVerdict::good},
    {"slope_just_above_85", 85.01, 0.0, ElectrodeVerdict::good},
    {"slope_just_below_85", 84.99, 0.0, ElectrodeVerdict::ageing},
    {"slope_just_above_80", 80.01, 0.0, ElectrodeVerdict::ageing},
    {"slope_just_below_80", 79.99, 0.0, ElectrodeVerdict::worn_out},
    {"offset_just_inside", 95.0, 29.99, ElectrodeVerdict::good},
    {"offset_just_outside", 95.0, 30.01, ElectrodeVerdict::worn_out},
    {"offset_just_outside_below", 95.0, -30.01, ElectrodeVerdict::worn_out},
};

class CalibrationTable : public ::testing::TestWithParam<VerdictCase> {};

TEST_P(CalibrationTable, says_what_the_electrode_is_worth) {
  const VerdictCase& row = GetParam();
  const std::array readings{honest(k7, row.slope, row.offset), honest(k10, row.slope, row.offset)};
  const auto calibration = calibrate(readings);
  ASSERT_TRUE(calibration);
  EXPECT_EQ(calibration->verdict, row.verdict);
  EXPECT_FALSE(words(calibration->verdict).empty());
}

INSTANTIATE_TEST_SUITE_P(Verdicts, CalibrationTable, ::testing::ValuesIn(kVerdicts),
                         [](const auto& row) { return std::string{row.param.name}; });

struct RefusalCase {
  const char* name;
  std::vector<BufferReading> readings;
  CalibrationRefusal refusal;
  std::size_t first;
  std::size_t second;
};
// NOLINTNEXTLINE(readability-identifier-naming): gtest's name
void PrintTo(const RefusalCase& c, std::ostream* out) { *out << c.name; }

BufferReading drifting(BufferReading reading, double drift) {
  reading.drift = Millivolts{drift};
  return reading;
}

std::vector<RefusalCase> refusals() {
  const BufferReading in4 = honest(k4, 97.0, 5.0);
  const BufferReading in7 = honest(k7, 97.0, 5.0);
  const BufferReading in10 = honest(k10, 97.0, 5.0);
  const auto actual = [](StandardBuffer label, double ph) { return reading(label, 97.0, 5.0, ph); };
  using R = CalibrationRefusal;
  BufferReading no_number = in7;
  no_number.reading = Millivolts{kNan};
  BufferReading hot = in7;
  hot.temperature = Celsius{51.0};
  return {
      {"none", {}, R::number_of_buffers, 0, 0},
      {"four", {in4, in7, in10, in7}, R::number_of_buffers, 0, 0},
      {"not_a_number", {in4, no_number}, R::not_usable, 1, 1},
      {"too_hot", {in4, hot}, R::not_usable, 1, 1},
      {"drifting_down", {in7, drifting(in10, -1.01)}, R::drifting, 1, 1},
      {"drifting_up", {drifting(in7, 1.01), in10}, R::drifting, 0, 0},
      {"same_buffer_twice", {in7, in7}, R::buffers_equal, 0, 1},
      {"neighbours",
       {in10, in7, honest(StandardBuffer::phosphate_6_865, 97.0, 5.0)},
       R::buffers_equal,
       1,
       2},
      {"same_liquid_in_both", {in7, actual(k10, 7.0)}, R::readings_equal, 0, 1},
      {"same_liquid_in_two_of_three", {in4, in7, actual(k10, 7.0)}, R::readings_equal, 1, 2},
      {"two_swapped", {actual(k7, 10.01), actual(k10, 7.0)}, R::swapped, 0, 1},
      {"first_two_of_three_swapped", {actual(k4, 7.0), actual(k7, 4.0), in10}, R::swapped, 0, 1},
      {"last_two_of_three_swapped", {in4, actual(k7, 10.01), actual(k10, 7.0)}, R::swapped, 1, 2},
      {"outer_two_of_three_swapped", {actual(k4, 10.01), in7, actual(k10, 4.0)}, R::swapped, 0, 2},
      {"ten_spoilt_by_air", {in4, in7, actual(k10, 9.7)}, R::contaminated, 2, 2},
      {"four_diluted_by_seven", {actual(k4, 4.4), in7, in10}, R::contaminated, 0, 0},
      {"seven_with_drops_of_four", {in4, actual(k7, 6.7), in10}, R::contaminated, 1, 1},
      {"slope_impossibly_steep", {in7, actual(k10, 10.4)}, R::contaminated, 1, 1},
      {"slope_hardly_any", {in7, actual(k10, 8.5)}, R::contaminated, 1, 1},
      {"bottles_of_four_and_seven",
       {actual(k7, 4.0), actual(k10, 7.0)},
       R::implausible_offset,
       0,
       1},
      {"one_buffer_far_off", {actual(k7, 4.0)}, R::implausible_offset, 0, 0},
  };
}

class RefusalTable : public ::testing::TestWithParam<RefusalCase> {};

TEST_P(RefusalTable, names_what_is_wrong_and_with_which_buffer) {
  const RefusalCase& row = GetParam();
  const auto calibration = calibrate(row.readings);
  ASSERT_FALSE(calibration);
  EXPECT_EQ(calibration.error().refusal, row.refusal) << words(calibration.error().refusal);
  EXPECT_EQ(calibration.error().first, row.first);
  EXPECT_EQ(calibration.error().second, row.second);
  EXPECT_FALSE(words(row.refusal).empty());
}

INSTANTIATE_TEST_SUITE_P(Refusals, RefusalTable, ::testing::ValuesIn(refusals()),
                         [](const auto& row) { return std::string{row.param.name}; });

TEST(Calibration, takes_a_reading_that_drifts_by_no_more_than_the_limit) {
  const std::array readings{drifting(honest(k7, 97.0, 5.0), 1.0), honest(k10, 97.0, 5.0)};
  EXPECT_TRUE(calibrate(readings));
}

// A bottle that says 10.00 has its maker's own table; its pH is given as it stands there.
TEST(Calibration, takes_the_value_of_the_bottle) {
  const BufferReading bottle{Ph{10.06}, Celsius{20.0}, shown(98.0, 3.0, 10.06, Celsius{20.0})};
  const std::array readings{honest(k7, 98.0, 3.0, Celsius{20.0}), bottle};
  const auto calibration = calibrate(readings);
  ASSERT_TRUE(calibration);
  EXPECT_NEAR(calibration->electrode.slope.count(), 98.0, 1e-9);
}

RC_GTEST_PROP(CalibrationProperty, a_calibrated_electrode_reads_back_any_ph, ()) {
  const double slope = *rc::gen::inRange(6001, 10500) / 100.0;
  const double offset = *rc::gen::inRange(-9900, 9901) / 100.0;
  const Celsius temperature{*rc::gen::inRange(0, 5001) / 100.0};
  const double ph = *rc::gen::inRange(300, 1100) / 100.0;
  const std::array readings{honest(k4, slope, offset, temperature),
                            honest(k7, slope, offset, kRoom),
                            honest(k10, slope, offset, temperature)};
  const auto calibration = calibrate(readings);
  RC_ASSERT(calibration.has_value());
  const auto read =
      ph_from(calibration->electrode, shown(slope, offset, ph, temperature), temperature);
  RC_ASSERT(read.has_value());
  RC_ASSERT(std::fabs(read->count() - ph) < 1e-9);
}

// Nernst's own slopes: 59.159 mV per pH at 25 degC (CODATA 2018), so that pH 8.2 is -70.99 mV.
TEST(Reading, is_the_inverse_of_the_ph_that_is_made_of_it) {
  const Electrode ideal;
  EXPECT_NEAR(reading_of(ideal, Ph{8.2}, Celsius{25.0})->count(), -1.2 * 59.159, 1e-3);
  const Electrode worn{Percent{87.0}, Millivolts{-12.0}};
  const auto reading = reading_of(worn, Ph{8.31}, Celsius{27.0});
  ASSERT_TRUE(reading);
  EXPECT_NEAR(ph_from(worn, *reading, Celsius{27.0})->count(), 8.31, 1e-12);
}

// A meter that still believes in 100 % shows pH 8.2 of an electrode of 85 %, which is where one is
// replaced (common practice), as 7 + 0.85 * 1.2 = 8.02.
TEST(Reading, of_an_aged_electrode_shows_too_little_to_a_meter_that_was_not_told) {
  const auto reading = reading_of({Percent{85.0}, Millivolts{0.0}}, Ph{8.2}, Celsius{25.0});
  EXPECT_NEAR(ph_from(Electrode{}, *reading, Celsius{25.0})->count(), 8.02, 1e-9);
}

TEST(Reading, is_refused_outside_of_what_an_electrode_can_do) {
  EXPECT_FALSE(reading_of(Electrode{}, Ph{14.1}, Celsius{25.0}));
  EXPECT_FALSE(reading_of(Electrode{}, Ph{8.2}, Celsius{60.1}));
  EXPECT_FALSE(reading_of({Percent{59.9}, Millivolts{0.0}}, Ph{8.2}, Celsius{25.0}));
}

}  // namespace
}  // namespace limegate::chemistry
