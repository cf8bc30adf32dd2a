#include "chemistry/limewater.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <string>

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "support/csv_table.h"

namespace limegate::chemistry {
namespace {

using limegate::testing::CsvRow;
using limegate::testing::number;
using limegate::testing::read_csv;

constexpr double kNan = std::numeric_limits<double>::quiet_NaN();
constexpr double kHydroxideGrams = 74.0927;  // g/mol of Ca(OH)2

/// Temperature of a row: the table's note says that its first row was computed at 1 degC.
Celsius computed_at(const CsvRow& row) { return Celsius{std::max(1.0, number(row, "T_C"))}; }

double per_kg_solution(double per_kg_water) {
  return per_kg_water / (1.0 + per_kg_water * kHydroxideGrams * 1e-6);
}

Limewater saturated_at(Celsius temperature) {
  const auto limewater = saturated_limewater(temperature);
  EXPECT_TRUE(limewater);
  return *limewater;
}

// tests/data/limewater_strength.csv, columns m_fix, rho_fix, alk_meqL_fix, Ca_mgL_fix.
TEST(Limewater, saturated_follows_the_series_in_every_row) {
  for (const CsvRow& row : read_csv("limewater_strength.csv")) {
    SCOPED_TRACE(row.at("T_C"));
    const Limewater limewater = saturated_at(computed_at(row));
    EXPECT_NEAR(limewater.strength.count(), per_kg_solution(number(row, "m_fix")), 0.0025);
    EXPECT_NEAR(limewater.density.count(), number(row, "rho_fix"), 5e-5);
    const LimewaterProperties properties = properties_of(limewater);
    EXPECT_NEAR(properties.alkalinity.count() / number(row, "alk_meqL_fix"), 1.0, 3e-4);
    EXPECT_NEAR(properties.calcium.count() / number(row, "Ca_mgL_fix"), 1.0, 3e-4);
    EXPECT_NEAR(properties.ph.count(), number(row, "pH_fix"), 0.02);
    EXPECT_NEAR(properties.conductivity.count() * 1000.0 / number(row, "SC_fix_uS"), 1.0, 0.0025);
  }
}

// Same file: every series, also Lange's handbook, which is quoted there from memory. The spread
// must hold them all and not be idle talk: the widest comes near it.
TEST(Limewater, stated_spread_holds_every_series_of_its_table) {
  for (const CsvRow& row : read_csv("limewater_strength.csv")) {
    const double ours = saturated_at(computed_at(row)).strength.count();
    const double spread = strength_spread(computed_at(row))->count();
    double widest = 0.0;
    for (const char* series : {"handbook_nla_mmol", "handbook_lange_mmol", "m_thermoddem", "m_sit",
                               "m_cemdata", "m_minteq", "m_fix"}) {
      const double off = 100.0 * (per_kg_solution(number(row, series)) / ours - 1.0);
      EXPECT_LE(std::fabs(off), spread) << series << " at " << row.at("T_C");
      widest = std::max(widest, std::fabs(off));
    }
    EXPECT_GT(widest, 0.99 * spread) << row.at("T_C");
  }
  EXPECT_NEAR(strength_spread(Celsius{22.5})->count(), (11.71 + 10.38) / 2, 1e-9) << "in between";
}

// Bates, Bower & Smith 1956, J. Res. NBS 56, 305: pH of 0.0203 mol/L calcium hydroxide, 12.45 at
// 25 degC; other temperatures from column pH_NBS1956. 0.0203 mol/L is 20.33 mmol/kg of solution at
// 25 degC.
TEST(Limewater, ph_of_bates_bower_and_smith_is_met_at_every_temperature) {
  for (const CsvRow& row : read_csv("limewater_strength.csv")) {
    if (number(row, "T_C") < 1.0) {
      continue;
    }
    const auto limewater = limewater_of(MmolPerKg{20.3 / 0.99897}, Celsius{number(row, "T_C")});
    ASSERT_TRUE(limewater);
    EXPECT_NEAR(properties_of(*limewater).ph.count(), number(row, "pH_NBS1956"), 0.03)
        << row.at("T_C");
  }
}

// Columns pH_fixcomp and SC_fixcomp_uS: one composition, 20.33 mmol per kg of water.
TEST(Limewater, of_a_fixed_strength_follows_temperature_in_every_row) {
  for (const CsvRow& row : read_csv("limewater_strength.csv")) {
    const auto limewater = limewater_of(MmolPerKg{per_kg_solution(20.33)}, computed_at(row));
    ASSERT_TRUE(limewater);
    const LimewaterProperties properties = properties_of(*limewater);
    EXPECT_NEAR(properties.ph.count(), number(row, "pH_fixcomp"), 0.015) << row.at("T_C");
    EXPECT_NEAR(properties.conductivity.count() * 1000.0 / number(row, "SC_fixcomp_uS"), 1.0,
                0.0025);
  }
}

// Common practice: saturated limewater has a pH of about 12.4, and 20 mg/L of calcium goes with
// 1 meq/L of alkalinity.
TEST(Limewater, is_what_keepers_expect) {
  const LimewaterProperties properties = properties_of(saturated_at(Celsius{25.0}));
  EXPECT_NEAR(properties.ph.count(), 12.4, 0.1);
  EXPECT_NEAR(properties.calcium.count() / properties.alkalinity.count(), 20.0, 0.1);
}

TEST(Limewater, takes_as_much_powder_as_it_holds) {
  // 0.0203 mol/L (Bates, Bower & Smith 1956) of 74.093 g/mol (IUPAC), in two litres.
  EXPECT_NEAR(powder_grams(*saturated_limewater(Celsius{25.0}), Millilitres{2000.0}), 3.008, 0.01);
  EXPECT_EQ(powder_grams(*saturated_limewater(Celsius{25.0}), Millilitres{0.0}), 0.0);
}

TEST(Limewater, without_lime_is_pure_water) {
  const auto water = limewater_of(MmolPerKg{0.0}, Celsius{25.0});
  ASSERT_TRUE(water);
  const LimewaterProperties properties = properties_of(*water);
  EXPECT_NEAR(properties.ph.count(), 7.0, 0.01);  // half of pKw = 13.995
  EXPECT_EQ(properties.conductivity.count(), 0.0);
  EXPECT_EQ(properties.alkalinity.count(), 0.0);
}

TEST(Limewater, spoils_by_the_share_that_carbon_dioxide_took) {
  const Limewater fresh = saturated_at(Celsius{25.0});
  EXPECT_EQ(spoiled(fresh, Percent{0.0})->strength.count(), fresh.strength.count());
  EXPECT_NEAR(spoiled(fresh, Percent{25.0})->strength.count(), 0.75 * fresh.strength.count(),
              1e-12);
  EXPECT_EQ(spoiled(fresh, Percent{100.0})->strength.count(), 0.0);
  EXPECT_LT(spoiled(fresh, Percent{25.0})->density.count(), fresh.density.count());
  for (const double bad : {-0.1, 100.1, kNan}) {
    EXPECT_FALSE(spoiled(fresh, Percent{bad}));
  }
}

TEST(Limewater, is_refused_outside_its_ranges) {
  for (const double bad : {0.9, 40.1, kNan}) {
    EXPECT_EQ(saturated_strength(Celsius{bad}).error().allowed.quantity, "limewater temperature");
    EXPECT_FALSE(strength_spread(Celsius{bad}));
    EXPECT_FALSE(limewater_of(MmolPerKg{20.0}, Celsius{bad}));
    EXPECT_FALSE(site_factor(MillisiemensPerCm{8.0}, Celsius{bad}));
    EXPECT_FALSE(strength_from_conductivity(MillisiemensPerCm{8.0}, Celsius{bad}));
  }
  for (const double bad : {-0.1, 30.1, kNan}) {
    EXPECT_EQ(limewater_of(MmolPerKg{bad}, Celsius{25.0}).error().allowed.quantity,
              "limewater strength");
  }
  for (const double bad : {-0.1, 20.0, kNan}) {
    EXPECT_EQ(
        strength_from_conductivity(MillisiemensPerCm{bad}, Celsius{25.0}).error().allowed.quantity,
        "conductivity of limewater");
  }
  for (const double bad : {0.69, 1.51, kNan}) {
    EXPECT_FALSE(strength_from_conductivity(MillisiemensPerCm{8.0}, Celsius{25.0}, bad));
  }
}

// A probe that shows 10.3 mS/cm in saturated limewater of 25 degC (quoted among keepers, from
// memory) is taken at its word once its site factor is known.
TEST(Limewater, strength_by_conductivity_is_calibrated_on_the_site) {
  const auto factor = site_factor(MillisiemensPerCm{10.3}, Celsius{25.0});
  ASSERT_TRUE(factor);
  const double saturated = saturated_strength(Celsius{25.0})->count();
  EXPECT_NEAR(strength_from_conductivity(MillisiemensPerCm{10.3}, Celsius{25.0}, *factor)->count(),
              saturated, 1e-9);
  EXPECT_GT(strength_from_conductivity(MillisiemensPerCm{10.3}, Celsius{25.0})->count(), saturated);
  EXPECT_FALSE(site_factor(MillisiemensPerCm{53.0}, Celsius{25.0}));  // that is seawater
}

RC_GTEST_PROP(LimewaterProperty, conductivity_leads_back_to_the_strength, ()) {
  const Celsius temperature{1.0 + 39.0 * *rc::gen::inRange(0, 10001) / 10000.0};
  const MmolPerKg strength{30.0 * *rc::gen::inRange(0, 10000) / 10000.0};
  const auto limewater = limewater_of(strength, temperature);
  const auto back = strength_from_conductivity(properties_of(*limewater).conductivity, temperature);
  RC_ASSERT(back.has_value());
  RC_ASSERT(std::fabs((*back - strength).count()) < 1e-9);
}

RC_GTEST_PROP(LimewaterProperty, stronger_is_denser_more_alkaline_and_conducts_better, ()) {
  const Celsius temperature{1.0 + 39.0 * *rc::gen::inRange(0, 10001) / 10000.0};
  const double weak = 29.0 * *rc::gen::inRange(0, 10000) / 10000.0;
  const double more = 1.0 * *rc::gen::inRange(1, 1001) / 1000.0;
  const auto low = properties_of(*limewater_of(MmolPerKg{weak}, temperature));
  const auto high = properties_of(*limewater_of(MmolPerKg{weak + more}, temperature));
  RC_ASSERT(high.ph > low.ph);
  RC_ASSERT(high.conductivity > low.conductivity);
  RC_ASSERT(high.alkalinity > low.alkalinity);
  RC_ASSERT(high.calcium > low.calcium);
}

}  // namespace
}  // namespace limegate::chemistry
