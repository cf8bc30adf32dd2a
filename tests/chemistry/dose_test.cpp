#include "chemistry/dose.h"

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

Limewater limewater_at(double strength, double celsius = 25.5) {
  const auto limewater = limewater_of(MmolPerKg{strength}, Celsius{celsius});
  EXPECT_TRUE(limewater);
  return *limewater;
}

Tank tank_with(Litres volume, double alkalinity, double ph_total) {
  const auto c = seawater_constants(Salinity{35.0}, Celsius{25.5});
  const auto water = solve_from_ph(*c, MicromolPerKg{alkalinity}, PhTotal{ph_total});
  EXPECT_TRUE(water);
  const auto tank = tank_of(volume, *c, *water);
  EXPECT_TRUE(tank);
  return *tank;
}

// tests/data/limewater_additions.csv, every row: 20.3 mmol/kg into one litre at 25.5 degC. The
// issue allows 0.0005 pH; what is left here is the limewater's density, 0.99865 there.
TEST(Dose, matches_every_reference_addition) {
  for (const CsvRow& row : read_csv("limewater_additions.csv")) {
    SCOPED_TRACE(row.at("TA0") + " " + row.at("pH_total0") + " " + row.at("X_mL_per_L"));
    const Tank tank = tank_with(Litres{1.0}, number(row, "TA0"), number(row, "pH_total0"));
    const auto effect = effect_of(tank, limewater_at(20.3), Millilitres{number(row, "X_mL_per_L")});
    ASSERT_TRUE(effect);
    EXPECT_NEAR(effect->rise.count(), number(row, "dpH_total"), 0.00015);
    EXPECT_NEAR(effect->after.ph_total.count(), number(row, "pH_total"), 0.00015);
    EXPECT_NEAR(effect->after.ph_nbs.count(), number(row, "pH_nbs"), 0.00015);
    EXPECT_NEAR(effect->after.alkalinity.count(), number(row, "TA"), 0.1);
    EXPECT_NEAR(effect->after.dissolved_carbon.count(), number(row, "DIC"), 0.01);
    EXPECT_NEAR(effect->after.calcium.count(), number(row, "Ca"), 0.05);
    EXPECT_NEAR(effect->after.omega_aragonite / number(row, "OmegaAr"), 1.0, 4e-4);
  }
}

// With the table's own density, only its printed digits are left.
TEST(Dose, matches_every_reference_addition_to_the_digit_with_the_same_density) {
  Limewater limewater = limewater_at(20.3);
  limewater.density = KgPerLitre{0.99865};
  for (const CsvRow& row : read_csv("limewater_additions.csv")) {
    Tank tank = tank_with(Litres{1.0}, number(row, "TA0"), number(row, "pH_total0"));
    tank.mass = Kilograms{1.0231899};  // TEOS-10's, as the table's head says
    const auto effect = effect_of(tank, limewater, Millilitres{number(row, "X_mL_per_L")});
    ASSERT_TRUE(effect);
    EXPECT_NEAR(effect->rise.count(), number(row, "dpH_total"), 2e-7);
    EXPECT_NEAR(effect->after.calcium.count(), number(row, "Ca"), 1e-3);
  }
}

// The same file's PHREEQC columns (Pitzer model): another program with another chemistry.
TEST(Dose, agrees_with_an_independent_model_within_its_own_difference) {
  for (const CsvRow& row : read_csv("limewater_additions.csv")) {
    const Tank tank = tank_with(Litres{1.0}, number(row, "TA0"), number(row, "pH_total0"));
    const auto effect = effect_of(tank, limewater_at(20.3), Millilitres{number(row, "X_mL_per_L")});
    ASSERT_TRUE(effect);
    EXPECT_NEAR(effect->rise.count(), number(row, "PHQpitzer_dpH"), 0.0035);
  }
}

// A worked day, by hand. Tank 800 L, evaporation 8 L a day, half of it given as saturated limewater
// of 25 degC: 4 L.
//   limewater: 40.6 meq/L and 814 mg/L Ca (shared trade figures)
//   alkalinity: 4 L x 40.6 meq/L / 800 L = 0.203 meq/L; x 2.8039 dKH per meq/L = 0.569 dKH a day
//   calcium:    4 L x 814 mg/L / 800 L = 4.07 mg/L a day; check: 0.203 meq/L x 20.04 mg/meq = 4.07
//   evaporation: 4 L of 8 L = 50 %
TEST(Dose, of_a_worked_day_comes_out_as_by_hand) {
  const auto strength = saturated_strength(Celsius{25.0});
  const auto day = daily_addition(Litres{800.0}, limewater_at(strength->count(), 25.0),
                                  Millilitres{4000.0}, Litres{8.0});
  ASSERT_TRUE(day);
  EXPECT_NEAR(day->alkalinity.count(), 0.569, 0.001);
  EXPECT_NEAR(day->calcium.count(), 4.07, 0.01);
  EXPECT_NEAR(day->share_of_evaporation.count(), 50.0, 1e-9);
}

TEST(Dose, of_a_day_is_refused_outside_its_ranges) {
  const Limewater limewater = limewater_at(20.3);
  const auto quantity = [&](double tank, double day, double evaporation) {
    const auto addition =
        daily_addition(Litres{tank}, limewater, Millilitres{day}, Litres{evaporation});
    return addition ? std::string{} : std::string{addition.error().allowed.quantity};
  };
  EXPECT_EQ(quantity(800.0, 4000.0, 8.0), "");
  EXPECT_EQ(quantity(800.0, 16000.0, 16.0), "");  // 20 mL per litre: at the hard bound of 24 h
  EXPECT_EQ(quantity(800.0, 16001.0, 16.0), "dose of a day");
  EXPECT_EQ(quantity(800.0, -1.0, 8.0), "dose of a day");
  EXPECT_EQ(quantity(0.5, 1.0, 0.1), "tank volume");
  EXPECT_EQ(quantity(kNan, 4000.0, 8.0), "tank volume");
  EXPECT_EQ(quantity(800.0, kNan, 8.0), "dose of a day");
  EXPECT_EQ(quantity(800.0, 4000.0, 0.0), "evaporation");
  EXPECT_EQ(quantity(800.0, 4000.0, kNan), "evaporation");
}

// tests/data/limewater_additions.csv: the slope at no dose, extrapolated from the rises at 0.5 and
// 1 mL per litre; the curve's next bend leaves up to 1 %.
TEST(Dose, response_to_a_small_one_is_the_slope_of_the_reference_additions) {
  const auto rows = read_csv("limewater_additions.csv");
  int waters = 0;
  for (std::size_t i = 0; i + 2 < rows.size(); ++i) {
    if (number(rows[i], "X_mL_per_L") != 0.0) {
      continue;
    }
    ASSERT_EQ(number(rows[i + 1], "X_mL_per_L"), 0.5);
    ASSERT_EQ(number(rows[i + 2], "X_mL_per_L"), 1.0);
    const double slope = 4.0 * number(rows[i + 1], "dpH_total") - number(rows[i + 2], "dpH_total");
    const Tank tank =
        tank_with(Litres{100.0}, number(rows[i], "TA0"), number(rows[i], "pH_total0"));
    const auto response = rise_per_millilitre(tank, limewater_at(20.3));
    ASSERT_TRUE(response);
    EXPECT_NEAR(response->count() * 100.0 / slope, 1.0, 0.01);
    ++waters;
  }
  EXPECT_EQ(waters, 4);
}

// Shared trade figures: at TA 2300 umol/kg 1 mL/L gives +0.089 at pH 7.70 (total) and +0.044
// at 8.30; 0.1 meq/L is about +0.2 at 7.7, +0.13 at 8.1 and +0.11 at 8.3.
TEST(Dose, of_a_millilitre_per_litre_does_what_the_trade_says) {
  const auto rise = [](double ph, double dose) {
    const auto effect =
        effect_of(tank_with(Litres{1.0}, 2300.0, ph), limewater_at(20.3), Millilitres{dose});
    return effect->rise.count();
  };
  EXPECT_NEAR(rise(7.7, 1.0), 0.089, 0.0006);
  EXPECT_NEAR(rise(8.3, 1.0), 0.044, 0.0006);
  EXPECT_NEAR(rise(7.7, 100.0 / 40.6), 0.2, 0.01);
  EXPECT_NEAR(rise(8.1, 100.0 / 40.6), 0.13, 0.01);
  EXPECT_NEAR(rise(8.3, 100.0 / 40.6), 0.11, 0.01);
}

TEST(Dose, largest_reaches_one_limit_and_passes_none) {
  const Tank tank = tank_with(Litres{800.0}, 2800.0, 8.2);
  const Limewater limewater = limewater_at(20.3);
  const DoseLimits limits{PhTotalChange{0.05}, 30.0};
  const auto dose = largest_dose(tank, limewater, limits);
  ASSERT_TRUE(dose);
  EXPECT_NEAR(effect_of(tank, limewater, *dose)->rise.count(), 0.05, 1e-9);
  EXPECT_LE(effect_of(tank, limewater, *dose)->rise.count(), 0.05);

  const auto by_omega = largest_dose(tank, limewater, {PhTotalChange{2.0}, 7.0});
  ASSERT_TRUE(by_omega);
  EXPECT_NEAR(effect_of(tank, limewater, *by_omega)->after.omega_aragonite, 7.0, 1e-9);
}

TEST(Dose, largest_is_nothing_where_omega_is_past_its_limit_already) {
  const Tank tank = tank_with(Litres{800.0}, 4200.0, 8.5);
  ASSERT_GT(solve(tank)->omega_aragonite, 7.0);
  EXPECT_EQ(largest_dose(tank, limewater_at(20.3), DoseLimits{})->count(), 0.0);
}

TEST(Dose, largest_is_never_more_than_the_bound_of_a_day) {
  const Tank tank = tank_with(Litres{100.0}, 2300.0, 8.0);
  const auto dose = largest_dose(tank, limewater_at(0.01), DoseLimits{});
  ASSERT_TRUE(dose);
  EXPECT_NEAR(dose->count(), 2000.0, 1e-6);
}

TEST(Dose, is_refused_outside_its_ranges) {
  const Tank tank = tank_with(Litres{10.0}, 2300.0, 8.0);
  const Limewater limewater = limewater_at(20.3);
  for (const double bad : {-0.001, 2000.1, kNan}) {
    const auto after = add(tank, limewater, Millilitres{bad});
    ASSERT_FALSE(after) << bad;
    EXPECT_EQ(after.error().allowed.quantity, "dose");
  }
  EXPECT_TRUE(add(tank, limewater, Millilitres{0.0}));
  EXPECT_TRUE(add(tank, limewater, Millilitres{1999.9}));
  const auto c = seawater_constants(Salinity{35.0}, Celsius{25.0});
  const auto water = solve_from_ph(*c, MicromolPerKg{2300.0}, PhTotal{8.0});
  for (const double bad : {0.9, 1.1e6, kNan}) {
    EXPECT_FALSE(tank_of(Litres{bad}, *c, *water));
  }
  for (const double bad : {-0.01, 2.01, kNan}) {
    EXPECT_FALSE(largest_dose(tank, limewater, {PhTotalChange{bad}, 7.0}));
  }
  for (const double bad : {-0.1, 30.1, kNan}) {
    EXPECT_FALSE(largest_dose(tank, limewater, {PhTotalChange{0.02}, bad}));
  }
}

TEST(Dose, that_would_leave_the_range_of_the_chemistry_is_an_error_not_a_number) {
  const Tank tank = tank_with(Litres{10.0}, 2300.0, 8.6);
  const auto effect = effect_of(tank, limewater_at(20.3), Millilitres{2000.0 - 1.0});
  ASSERT_FALSE(effect);
  EXPECT_EQ(effect.error().allowed.quantity, "pH on the total scale");
}

rc::Gen<double> between(double low, double high) {
  return rc::gen::map(rc::gen::inRange(0, 1000001),
                      [=](int n) { return low + (high - low) * n / 1000000.0; });
}

/// Any tank in the valid range, with room below the ends for a dose.
Tank any_tank() {
  const auto c = seawater_constants(Salinity{*between(20.0, 43.0)}, Celsius{*between(2.0, 35.0)});
  const auto measured = with_calcium(*c, MicromolPerKg{*between(2000.0, 17000.0)});
  const auto water =
      solve_from_ph(*measured, MicromolPerKg{*between(300.0, 9000.0)}, PhTotal{*between(6.1, 9.5)});
  RC_PRE(water.has_value());
  return *tank_of(Litres{*between(1.0, 1e4)}, *measured, *water);
}

/// Any limewater that a reactor gives: saturated at its own temperature.
Limewater any_limewater() {
  const Celsius reactor{*between(5.0, 40.0)};
  return *saturated_limewater(reactor);
}

RC_GTEST_PROP(DoseProperty, adding_limewater_never_lowers_ph_alkalinity_or_calcium, ()) {
  const Tank tank = any_tank();
  const Limewater limewater = any_limewater();
  const Millilitres dose{tank.mass.count() * *between(0.0, 20.0)};
  const auto effect = effect_of(tank, limewater, dose);
  RC_PRE(effect.has_value());
  RC_ASSERT(effect->after.ph_total >= effect->before.ph_total - PhTotalChange{1e-12});
  RC_ASSERT(effect->after.alkalinity >= effect->before.alkalinity);
  RC_ASSERT(effect->after.calcium >= effect->before.calcium);
}

RC_GTEST_PROP(DoseProperty, splitting_a_dose_changes_nothing, ()) {
  const Tank tank = any_tank();
  const Limewater limewater = any_limewater();
  const Millilitres dose{tank.mass.count() * *between(0.0, 20.0)};
  const double share = *between(0.0, 1.0);
  const auto whole = add(tank, limewater, dose);
  const auto split = add(tank, limewater, dose * share).and_then([&](const Tank& half_way) {
    return add(half_way, limewater, dose * (1.0 - share));
  });
  RC_ASSERT(whole.has_value() && split.has_value());
  const auto near = [](double a, double b) { return std::fabs(a - b) <= 1e-12 * std::fabs(a); };
  RC_ASSERT(near(whole->mass.count(), split->mass.count()));
  RC_ASSERT(near(whole->salinity.count(), split->salinity.count()));
  RC_ASSERT(near(whole->alkalinity.count(), split->alkalinity.count()));
  RC_ASSERT(near(whole->dissolved_carbon.count(), split->dissolved_carbon.count()));
  RC_ASSERT(near(whole->calcium.count(), split->calcium.count()));
}

RC_GTEST_PROP(DoseProperty, the_largest_dose_is_within_its_limits_and_a_little_more_is_not, ()) {
  const Tank tank = any_tank();
  const Limewater limewater = any_limewater();
  const DoseLimits limits{PhTotalChange{*between(0.001, 0.3)}, *between(1.0, 30.0)};
  const auto dose = largest_dose(tank, limewater, limits);
  RC_ASSERT(dose.has_value());
  const auto within = [&](Millilitres amount) {
    const auto effect = effect_of(tank, limewater, amount);
    return effect.has_value() && effect->rise <= limits.rise_max &&
           effect->after.omega_aragonite <= limits.omega_aragonite_max;
  };
  const double bound = 20.0 * tank.mass.count() / 1.05;  // safely below 20 mL per litre
  RC_PRE(dose->count() > 0.0 && dose->count() < bound);
  RC_ASSERT(within(*dose));
  RC_ASSERT(!within(*dose * 1.000001));
}

}  // namespace
}  // namespace limegate::chemistry
