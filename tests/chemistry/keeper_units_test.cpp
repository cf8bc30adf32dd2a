#include "chemistry/keeper_units.h"

#include <gtest/gtest.h>

namespace limegate::chemistry {
namespace {

// Shared trade figures: 1 dKH = 0.35665 meq/L = 17.848 ppm CaCO3; 1 meq/L = 2.8039 dKH = 50.04 ppm.
TEST(KeeperUnits, of_alkalinity_are_those_of_the_trade) {
  EXPECT_NEAR(to_meq_per_litre(Dkh{1.0}).count(), 0.35665, 5e-6);
  EXPECT_NEAR(to_ppm_caco3(to_meq_per_litre(Dkh{1.0})).count(), 17.848, 5e-4);
  EXPECT_NEAR(to_dkh(MeqPerLitre{1.0}).count(), 2.8039, 5e-5);
  EXPECT_NEAR(to_ppm_caco3(MeqPerLitre{1.0}).count(), 50.04, 5e-3);
  EXPECT_NEAR(to_dkh(to_meq_per_litre(Dkh{8.2})).count(), 8.2, 1e-12);
  EXPECT_NEAR(to_meq_per_litre(PpmCaco3{50.04}).count(), 1.0, 1e-4);
}

// 2300 umol/kg at 1.02334 kg/L: 2300 x 1.02334 / 1000 = 2.3537 meq/L, x 2.8039 = 6.600 dKH.
TEST(KeeperUnits, per_kilogram_and_per_litre_differ_by_the_density) {
  const KgPerLitre density{1.02334};
  EXPECT_NEAR(to_meq_per_litre(MicromolPerKg{2300.0}, density).count(), 2.3537, 5e-5);
  EXPECT_NEAR(to_micromol_per_kg(MeqPerLitre{2.353682}, density).count(), 2300.0, 1e-3);
}

// Common practice: seawater holds about 412 mg/L of calcium at salinity 35 (Riley & Tongudai 1967:
// 10284.57 umol/kg x 40.078 g/mol x 1.02334 kg/L = 421.8 mg/L; 412 is per kilogram).
TEST(KeeperUnits, of_calcium_are_by_mass) {
  EXPECT_NEAR(to_mg_per_litre(MicromolPerKg{10284.57}, KgPerLitre{1.02334}).count(), 421.8, 0.05);
  EXPECT_NEAR(to_mg_per_litre(MicromolPerKg{10284.57}, KgPerLitre{1.0}).count(), 412.2, 0.05);
  EXPECT_NEAR(to_micromol_per_kg(MgPerLitre{421.8}, KgPerLitre{1.02334}).count(), 10284.57, 1.0);
}

TEST(KeeperUnits, of_volume_and_temperature_are_exact) {
  EXPECT_NEAR(litres_from_gallons(1.0).count(), 3.785411784, 1e-12);  // NIST Handbook 44
  EXPECT_NEAR(to_gallons(Litres{3.785411784}), 1.0, 1e-12);
  EXPECT_NEAR(celsius_from_fahrenheit(77.0).count(), 25.0, 1e-12);
  EXPECT_NEAR(to_fahrenheit(Celsius{25.0}), 77.0, 1e-12);
}

}  // namespace
}  // namespace limegate::chemistry
