#include "chemistry/carbonate_system.h"

#include <cmath>
#include <limits>
#include <string>

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "chemistry/seawater_constants.h"
#include "support/csv_table.h"

namespace limegate::chemistry {
namespace {

using limegate::testing::CsvRow;
using limegate::testing::number;
using limegate::testing::read_csv;

constexpr double kNan = std::numeric_limits<double>::quiet_NaN();
constexpr double kInfinity = std::numeric_limits<double>::infinity();

SeawaterConstants constants_of(const CsvRow& row, BoronSource boron) {
  const auto c = seawater_constants(Salinity{number(row, "S")}, Celsius{number(row, "T_C")}, boron);
  EXPECT_TRUE(c);
  return *c;
}

PhTotal ph_given(const CsvRow& row, const SeawaterConstants& c) {
  const double ph = number(row, "pH_in");
  return row.at("in_scale") == "N" ? to_total(c, Ph{ph}) : PhTotal{ph};
}

/// Every solved column of a row of carbonate_points.csv. The table prints ten digits; the issue
/// asks for 0.0005 pH, 0.06 % DIC and 0.1 % omega, and what is reached is checked instead.
void expect_row(const CsvRow& row, const CarbonateState& state) {
  EXPECT_NEAR(state.ph_total.count(), number(row, "pH_total"), 1e-8);
  EXPECT_NEAR(state.ph_nbs.count(), number(row, "pH_nbs"), 1e-8);
  EXPECT_NEAR(state.ph_seawater.count(), number(row, "pH_sws"), 1e-8);
  EXPECT_NEAR(state.ph_free.count(), number(row, "pH_free"), 1e-8);
  const auto near = [&](double value, const char* column) {
    EXPECT_NEAR(value / number(row, column), 1.0, 1e-8) << column;
  };
  near(state.alkalinity.count(), "TA");
  near(state.dissolved_carbon.count(), "DIC");
  near(state.co2_pressure.count(), "pCO2");
  near(state.co2_fugacity.count(), "fCO2");
  near(state.bicarbonate.count(), "HCO3");
  near(state.carbonate.count(), "CO3");
  near(state.co2.count(), "CO2aq");
  near(state.borate.count(), "BOH4");
  near(state.hydroxide.count(), "OH");
  near(state.omega_aragonite, "OmegaAr");
  near(state.omega_calcite, "OmegaCa");
}

TEST(CarbonateSystem, solved_from_ph_matches_every_reference_point) {
  for (const CsvRow& row : read_csv("carbonate_points.csv")) {
    SCOPED_TRACE(row.at("S") + " " + row.at("T_C") + " " + row.at("TA") + " " + row.at("pH_in"));
    const auto c = constants_of(row, BoronSource::uppstroem_1974);
    const auto state = solve_from_ph(c, MicromolPerKg{number(row, "TA")}, ph_given(row, c));
    ASSERT_TRUE(state);
    expect_row(row, *state);
  }
}

TEST(CarbonateSystem, solved_from_carbon_matches_every_reference_point) {
  for (const CsvRow& row : read_csv("carbonate_points.csv")) {
    SCOPED_TRACE(row.at("S") + " " + row.at("T_C") + " " + row.at("TA") + " " + row.at("pH_in"));
    const auto c = constants_of(row, BoronSource::uppstroem_1974);
    const auto state =
        solve_from_carbon(c, MicromolPerKg{number(row, "TA")}, MicromolPerKg{number(row, "DIC")});
    ASSERT_TRUE(state);
    expect_row(row, *state);
  }
}

TEST(CarbonateSystem, boron_of_lee_matches_its_own_columns) {
  for (const CsvRow& row : read_csv("carbonate_points.csv")) {
    const auto c = constants_of(row, BoronSource::lee_2010);
    const auto state =
        solve_from_ph(c, MicromolPerKg{number(row, "TA")}, PhTotal{number(row, "pH_total")});
    ASSERT_TRUE(state);
    EXPECT_NEAR(state->dissolved_carbon.count() / number(row, "DIC_Lee2010"), 1.0, 1e-8);
    EXPECT_NEAR(state->co2_pressure.count() / number(row, "pCO2_Lee2010"), 1.0, 1e-8);
    EXPECT_NEAR(state->omega_aragonite / number(row, "OmegaAr_Lee2010"), 1.0, 1e-8);
  }
}

// The state before a dose in limewater_additions.csv is a second set of solved points.
TEST(CarbonateSystem, matches_the_starting_waters_of_the_additions) {
  const auto c = seawater_constants(Salinity{35.0}, Celsius{25.5});
  for (const CsvRow& row : read_csv("limewater_additions.csv")) {
    const auto state =
        solve_from_ph(*c, MicromolPerKg{number(row, "TA0")}, PhTotal{number(row, "pH_total0")});
    ASSERT_TRUE(state);
    EXPECT_NEAR(state->dissolved_carbon.count(), number(row, "DIC0"), 1e-4);
  }
}

TEST(CarbonateSystem, omega_follows_a_measured_calcium_in_proportion) {
  const auto c = seawater_constants(Salinity{35.0}, Celsius{25.0});
  const auto usual = solve_from_ph(*c, MicromolPerKg{2300.0}, PhTotal{8.1});
  const auto measured =
      solve_from_ph(*with_calcium(*c, c->calcium * 1.1), MicromolPerKg{2300.0}, PhTotal{8.1});
  ASSERT_TRUE(usual && measured);
  EXPECT_NEAR(measured->omega_aragonite / usual->omega_aragonite, 1.1, 1e-12);
  EXPECT_EQ(measured->dissolved_carbon.count(), usual->dissolved_carbon.count());
}

struct FaultCase {
  const char* name;
  double alkalinity;
  double ph;
  const char* quantity;
};
// NOLINTNEXTLINE(readability-identifier-naming): gtest's name
void PrintTo(const FaultCase& c, std::ostream* out) { *out << c.name; }

const FaultCase kFaultCases[] = {
    {"alkalinity_below", 99.9, 8.0, "alkalinity"},
    {"alkalinity_at_lowest", 100.0, 8.0, ""},
    {"alkalinity_at_highest", 10000.0, 8.0, ""},
    {"alkalinity_above", 10000.1, 8.0, "alkalinity"},
    {"alkalinity_negative", -2300.0, 8.0, "alkalinity"},
    {"alkalinity_not_a_number", kNan, 8.0, "alkalinity"},
    {"alkalinity_infinite", kInfinity, 8.0, "alkalinity"},
    {"ph_below", 2300.0, 5.999, "pH on the total scale"},
    {"ph_at_lowest", 2300.0, 6.0, ""},
    {"ph_at_highest", 2300.0, 10.0, ""},
    {"ph_above", 2300.0, 10.001, "pH on the total scale"},
    {"ph_not_a_number", 2300.0, kNan, "pH on the total scale"},
    {"no_alkalinity_left_for_carbonate", 300.0, 9.5, "alkalinity at this pH"},
};

class SolveFromPhTable : public ::testing::TestWithParam<FaultCase> {};

TEST_P(SolveFromPhTable, answers_inside_the_range_and_names_the_fault_outside) {
  const auto c = seawater_constants(Salinity{35.0}, Celsius{25.0});
  const FaultCase& row = GetParam();
  const auto state = solve_from_ph(*c, MicromolPerKg{row.alkalinity}, PhTotal{row.ph});
  if (std::string{row.quantity}.empty()) {
    ASSERT_TRUE(state);
    EXPECT_GT(state->dissolved_carbon.count(), 0.0);
    return;
  }
  ASSERT_FALSE(state);
  EXPECT_EQ(state.error().allowed.quantity, row.quantity);
  EXPECT_FALSE(holds(state.error().allowed, state.error().value));
  EXPECT_FALSE(state.error().allowed.source.empty());
}

INSTANTIATE_TEST_SUITE_P(Ranges, SolveFromPhTable, ::testing::ValuesIn(kFaultCases),
                         [](const auto& row) { return std::string{row.param.name}; });

TEST(CarbonateSystem, solve_from_carbon_refuses_what_it_cannot_answer) {
  const auto c = seawater_constants(Salinity{35.0}, Celsius{25.0});
  const auto quantity = [&](double alkalinity, double carbon) {
    const auto state = solve_from_carbon(*c, MicromolPerKg{alkalinity}, MicromolPerKg{carbon});
    return state ? std::string{} : std::string{state.error().allowed.quantity};
  };
  EXPECT_EQ(quantity(2300.0, 2000.0), "");
  EXPECT_EQ(quantity(2300.0, kNan), "dissolved inorganic carbon");
  EXPECT_EQ(quantity(2300.0, -0.001), "dissolved inorganic carbon");
  EXPECT_EQ(quantity(2300.0, 30000.1), "dissolved inorganic carbon");
  EXPECT_EQ(quantity(kNan, 2000.0), "alkalinity");
  EXPECT_EQ(quantity(99.0, 2000.0), "alkalinity");
  EXPECT_EQ(quantity(2300.0, 0.0), "pH on the total scale");     // lye: far above pH 10
  EXPECT_EQ(quantity(100.0, 30000.0), "pH on the total scale");  // soda water: far below pH 6
}

/// A real number of [low, high], both ends included now and then.
rc::Gen<double> between(double low, double high) {
  return rc::gen::map(rc::gen::inRange(0, 1000001),
                      [=](int n) { return low + (high - low) * n / 1000000.0; });
}

// The property of the issue: over the whole valid range of salinity, temperature, alkalinity and
// pH.
RC_GTEST_PROP(CarbonateProperty, solving_from_carbon_inverts_solving_from_ph_to_1e_9, ()) {
  const auto c = seawater_constants(Salinity{*between(19.0, 43.0)}, Celsius{*between(2.0, 35.0)});
  RC_ASSERT(c.has_value());
  const MicromolPerKg alkalinity{*between(100.0, 10000.0)};
  // The ends themselves may come back a rounding error outside.
  const PhTotal ph{*between(6.0 + 1e-9, 10.0 - 1e-9)};
  const auto forward = solve_from_ph(*c, alkalinity, ph);
  RC_PRE(forward.has_value());  // at high pH little alkalinity leaves none for carbonate
  const auto back = solve_from_carbon(*c, alkalinity, forward->dissolved_carbon);
  RC_ASSERT(back.has_value());
  RC_ASSERT(std::fabs((back->ph_total - ph).count()) < 1e-9);
  RC_ASSERT(std::fabs(back->carbonate / forward->carbonate - 1.0) < 1e-8);
}

RC_GTEST_PROP(CarbonateProperty, species_add_up_to_carbon_and_alkalinity, ()) {
  const auto c = seawater_constants(Salinity{*between(19.0, 43.0)}, Celsius{*between(2.0, 35.0)});
  const auto state = solve_from_carbon(*c, MicromolPerKg{*between(100.0, 10000.0)},
                                       MicromolPerKg{*between(0.0, 30000.0)});
  RC_PRE(state.has_value());
  const double carbon = (state->co2 + state->bicarbonate + state->carbonate).count();
  RC_ASSERT(std::fabs(carbon - state->dissolved_carbon.count()) <=
            1e-9 * state->dissolved_carbon.count());
  // Dickson 1981: TA = HCO3 + 2 CO3 + B(OH)4 + OH - H - HSO4 - HF.
  const double free = std::pow(10.0, -state->ph_free.count()) * 1e6;
  const double acids =
      free + free * c->sulfate / (c->ks + free * 1e-6) + free * c->fluoride / (c->kf + free * 1e-6);
  const double alkalinity =
      (state->bicarbonate + 2.0 * state->carbonate + state->borate + state->hydroxide).count() -
      acids;
  RC_ASSERT(std::fabs(alkalinity - state->alkalinity.count()) < 1e-6);
}

RC_GTEST_PROP(CarbonateProperty, buffer_response_is_the_slope_of_ph_against_alkalinity, ()) {
  const auto c = seawater_constants(Salinity{*between(19.0, 43.0)}, Celsius{*between(2.0, 35.0)});
  const MicromolPerKg alkalinity{*between(500.0, 9000.0)};
  const auto state = solve_from_ph(*c, alkalinity, PhTotal{*between(6.5, 9.5)});
  RC_PRE(state.has_value());
  const MicromolPerKg step{0.01};
  const auto above = solve_from_carbon(*c, alkalinity + step, state->dissolved_carbon);
  const auto below = solve_from_carbon(*c, alkalinity - step, state->dissolved_carbon);
  RC_ASSERT(above.has_value() && below.has_value());
  const double slope = (above->ph_total - below->ph_total).count() / (2.0 * step.count());
  RC_ASSERT(slope > 0.0);
  RC_ASSERT(std::fabs(slope / state->rise_per_micromol.count() - 1.0) < 1e-4);
}

RC_GTEST_PROP(CarbonateProperty, whatever_is_given_the_answer_is_in_range_or_a_fault, ()) {
  const auto any = [] {
    return *rc::gen::oneOf(
        rc::gen::arbitrary<double>(),
        rc::gen::element(kNan, kInfinity, -kInfinity, 0.0, 35.0, 25.0, 2300.0, 8.1));
  };
  const auto given = seawater_constants(Salinity{any()}, Celsius{any()});
  if (!given) {
    RC_ASSERT(!holds(given.error().allowed, given.error().value));
  }
  // Most guesses at salinity and temperature are refused; the solvers are asked all the same.
  const auto c = given ? given : seawater_constants(Salinity{35.0}, Celsius{25.0});
  for (const auto& state : {solve_from_ph(*c, MicromolPerKg{any()}, PhTotal{any()}),
                            solve_from_carbon(*c, MicromolPerKg{any()}, MicromolPerKg{any()})}) {
    if (!state) {
      RC_ASSERT(!holds(state.error().allowed, state.error().value));
      continue;
    }
    RC_ASSERT(std::isfinite(state->ph_nbs.count()));
    RC_ASSERT(std::isfinite(state->rise_per_micromol.count()));
    RC_ASSERT(state->omega_aragonite >= 0.0);
  }
}

}  // namespace
}  // namespace limegate::chemistry
