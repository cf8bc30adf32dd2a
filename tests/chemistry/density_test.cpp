#include "chemistry/density.h"

#include <limits>
#include <string>

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "chemistry/practical_salinity.h"
#include "support/csv_table.h"

namespace limegate::chemistry {
namespace {

using limegate::testing::CsvRow;
using limegate::testing::number;
using limegate::testing::read_csv;

constexpr double kNan = std::numeric_limits<double>::quiet_NaN();

// tests/data/seawater_teos10.csv. The issue allows 0.05 kg/m3; 0.006 is reached.
TEST(SeawaterDensity, is_that_of_teos_10_in_every_row) {
  for (const CsvRow& row : read_csv("seawater_teos10.csv")) {
    const auto density = seawater_density(Salinity{number(row, "SP")}, Celsius{number(row, "T_C")});
    ASSERT_TRUE(density);
    EXPECT_NEAR(density->count() * 1000.0, number(row, "rho_kg_m3"), 0.006)
        << row.at("SP") << " " << row.at("T_C");
  }
}

// UNESCO Technical Papers in Marine Science 44 (1983), check values of EOS-80 in IPTS-68 degrees
// (from memory): rho(0, 5) = 999.96675, rho(35, 5) = 1027.67547, rho(35, 25) = 1023.34306 kg/m3.
TEST(SeawaterDensity, gives_the_check_values_of_eos_80) {
  const auto at = [](double s, double t68) {
    return seawater_density(Salinity{s}, Celsius{t68 / 1.00024})->count() * 1000.0;
  };
  EXPECT_NEAR(at(0.0, 5.0), 999.96675, 1e-5);
  EXPECT_NEAR(at(35.0, 5.0), 1027.67547, 1e-5);
  EXPECT_NEAR(at(35.0, 25.0), 1023.34306, 1e-5);
}

TEST(SeawaterDensity, is_refused_outside_its_range) {
  EXPECT_EQ(seawater_density(Salinity{-0.1}, Celsius{25.0}).error().allowed.quantity, "salinity");
  EXPECT_EQ(seawater_density(Salinity{43.1}, Celsius{25.0}).error().allowed.quantity, "salinity");
  EXPECT_EQ(seawater_density(Salinity{kNan}, Celsius{25.0}).error().allowed.quantity, "salinity");
  EXPECT_EQ(seawater_density(Salinity{35.0}, Celsius{40.1}).error().allowed.quantity,
            "temperature");
  EXPECT_EQ(seawater_density(Salinity{35.0}, Celsius{-2.1}).error().allowed.quantity,
            "temperature");
  EXPECT_EQ(seawater_density(Salinity{35.0}, Celsius{kNan}).error().allowed.quantity,
            "temperature");
}

// Common practice: a refractometer for aquaria shows 1.0264 for salinity 35 at 25 degC.
TEST(SpecificGravity, of_salinity_35_is_what_keepers_read) {
  EXPECT_NEAR(*specific_gravity(Salinity{35.0}, Celsius{25.0}), 1.0264, 0.00005);
  EXPECT_NEAR(salinity_from_gravity(1.0264, Celsius{25.0})->count(), 35.0, 0.05);
}

TEST(SpecificGravity, outside_of_seawater_is_refused) {
  EXPECT_EQ(salinity_from_gravity(0.999, Celsius{25.0}).error().allowed.quantity,
            "specific gravity");
  EXPECT_EQ(salinity_from_gravity(1.04, Celsius{25.0}).error().allowed.quantity,
            "specific gravity");
  EXPECT_FALSE(salinity_from_gravity(kNan, Celsius{25.0}));
  EXPECT_EQ(salinity_from_gravity(1.0264, Celsius{50.0}).error().allowed.quantity, "temperature");
}

// tests/data/seawater_teos10.csv. The issue allows 0.001; the rounding of the table is reached.
TEST(PracticalSalinity, from_conductivity_is_that_of_teos_10_in_every_row) {
  for (const CsvRow& row : read_csv("seawater_teos10.csv")) {
    const MillisiemensPerCm conductivity{number(row, "conductivity_mS_cm")};
    const Celsius temperature{number(row, "T_C")};
    const auto salinity = salinity_from_conductivity(conductivity, temperature);
    ASSERT_TRUE(salinity);
    EXPECT_NEAR(salinity->count(), number(row, "SP"), 1e-6);
    const auto back = conductivity_from_salinity(Salinity{number(row, "SP")}, temperature);
    ASSERT_TRUE(back);
    EXPECT_NEAR(back->count(), conductivity.count(), 1e-6);
  }
}

// The definition of PSS-78: 42.914 mS/cm at 15 degC (IPTS-68) is salinity 35. Its coefficients are
// published with seven digits, which leaves 8e-8.
TEST(PracticalSalinity, meets_its_own_definition) {
  const auto salinity =
      salinity_from_conductivity(MillisiemensPerCm{42.914}, Celsius{15.0 / 1.00024});
  ASSERT_TRUE(salinity);
  EXPECT_NEAR(salinity->count(), 35.0, 1e-7);
}

TEST(PracticalSalinity, outside_its_range_is_refused_with_the_range_in_the_unit_given) {
  for (const double bad : {-1.0, 0.0, 1.0, 70.0, kNan}) {
    const auto salinity = salinity_from_conductivity(MillisiemensPerCm{bad}, Celsius{25.0});
    ASSERT_FALSE(salinity) << bad;
    EXPECT_EQ(salinity.error().allowed.unit, "mS/cm");
    EXPECT_NE(salinity.error().allowed.source.find("PSS-78"), std::string_view::npos);
  }
  EXPECT_EQ(salinity_from_conductivity(MillisiemensPerCm{53.0}, Celsius{35.1}).error().allowed.unit,
            "C");
  EXPECT_FALSE(salinity_from_conductivity(MillisiemensPerCm{53.0}, Celsius{kNan}));
  EXPECT_FALSE(conductivity_from_salinity(Salinity{42.1}, Celsius{25.0}));
  EXPECT_FALSE(conductivity_from_salinity(Salinity{kNan}, Celsius{25.0}));
  EXPECT_FALSE(conductivity_from_salinity(Salinity{35.0}, Celsius{-2.1}));
}

RC_GTEST_PROP(SalinityProperty, conductivity_and_gravity_lead_back_to_the_salinity, ()) {
  const Salinity salinity{2.0 + 40.0 * *rc::gen::inRange(1, 10000) / 10000.0};
  const Celsius temperature{-2.0 + 37.0 * *rc::gen::inRange(0, 10001) / 10000.0};
  const auto conductivity = conductivity_from_salinity(salinity, temperature);
  RC_ASSERT(conductivity.has_value());
  RC_ASSERT(std::abs((*salinity_from_conductivity(*conductivity, temperature) - salinity).count()) <
            1e-9);
  const auto gravity = specific_gravity(salinity, temperature);
  RC_ASSERT(gravity.has_value());
  RC_ASSERT(std::abs((*salinity_from_gravity(*gravity, temperature) - salinity).count()) < 1e-9);
}

}  // namespace
}  // namespace limegate::chemistry
