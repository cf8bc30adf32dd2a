#include "simulator/aquarium.h"

#include <algorithm>
#include <chrono>
#include <cmath>

#include <gtest/gtest.h>

#include "chemistry/dose.h"
#include "chemistry/keeper_units.h"
#include "chemistry/limewater.h"
#include "simulator/scene.h"

namespace limegate::simulator {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

struct DoseRow {
  const char* name;
  double ph, alkalinity_dkh, dose_ml;
};
std::ostream& operator<<(std::ostream& out, const DoseRow& row) { return out << row.name; }
const DoseRow kDoses[] = {{"small_at_a_usual_ph", 8.2, 8.0, 50},
                          {"large_at_a_usual_ph", 8.2, 8.0, 500},
                          {"at_a_low_ph", 7.8, 8.0, 300},
                          {"at_a_high_ph_and_alkalinity", 8.3, 9.0, 200}};
class ClosedDose : public testing::TestWithParam<DoseRow> {};
INSTANTIATE_TEST_SUITE_P(Rows, ClosedDose, testing::ValuesIn(kDoses),
                         [](const auto& row) { return std::string{row.param.name}; });

// The one reference inside the project: the closed-system answer, itself checked against published
// points (tests/chemistry).
TEST_P(ClosedDose, has_the_effect_that_chemistry_predicts) {
  AquariumSettings settings = closed();
  settings.ph = Ph{GetParam().ph};
  settings.alkalinity = Dkh{GetParam().alkalinity_dkh};
  Scene scene{settings};
  const auto limewater = chemistry::saturated_limewater(Celsius{22.0});
  const auto sea = chemistry::seawater_constants(settings.salinity, settings.temperature);
  const auto with =
      chemistry::with_calcium(*sea, chemistry::to_micromol_per_kg(settings.calcium, sea->density));
  const auto before = chemistry::solve_from_ph(
      *with,
      chemistry::to_micromol_per_kg(chemistry::to_meq_per_litre(settings.alkalinity), sea->density),
      chemistry::to_total(*sea, settings.ph));
  const auto tank = chemistry::tank_of(settings.water, *with, *before);
  const auto effect = chemistry::effect_of(*tank, *limewater, Millilitres{GetParam().dose_ml});
  ASSERT_TRUE(effect);
  scene.water.add(Kilograms{GetParam().dose_ml / 1000.0 * limewater->density.count()},
                  limewater->strength, 0);
  scene.pass(4h);
  EXPECT_NEAR(scene.water.ph().count(), effect->after.ph_nbs.count(), 2e-4);
  EXPECT_NEAR(scene.water.display().alkalinity.count(), effect->after.alkalinity.count(), 0.05);
  EXPECT_NEAR(scene.water.display().omega_aragonite, effect->after.omega_aragonite, 2e-3);
}

TEST(Aquarium, closed_and_undosed_stays_as_it_is) {
  Scene scene{closed()};
  const double ph = scene.water.ph().count();
  scene.pass(24h);
  EXPECT_NEAR(scene.water.ph().count(), ph, 1e-6);
}

TEST(Aquarium, powder_that_is_carried_over_counts_like_what_is_dissolved) {
  Scene milky{closed()};
  Scene clear{closed()};
  milky.water.add(Kilograms{0.1}, MmolPerKg{20.0}, 10.0);
  clear.water.add(Kilograms{0.1}, MmolPerKg{120.0}, 0.0);
  milky.pass(6h);
  clear.pass(6h);
  EXPECT_NEAR(milky.water.ph().count(), clear.water.ph().count(), 1e-4);
  EXPECT_LT(milky.water.undissolved_mmol(), 1e-9);
}

// A tank's pH swings 0.1 to 0.4 over a day, at up to about 0.03 to 0.05 pH/h (common practice).
TEST(Aquarium, undosed_swings_within_a_day_as_tanks_do) {
  Scene scene{AquariumSettings{}};
  scene.pass(72h);
  scene.low = 14;
  scene.high = 0;
  scene.steepest = 0;
  scene.pass(24h);
  EXPECT_GT(scene.high - scene.low, 0.1);
  EXPECT_LT(scene.high - scene.low, 0.4);
  EXPECT_LT(scene.steepest, 0.06);
  EXPECT_GT(scene.low, 7.8);
  EXPECT_LT(scene.high, 8.5);
}

// Reef communities take up 1.9 to 9.9 g CaCO3 per m2 and day: McLaughlin et al. 2023,
// Biogeosciences 20, 1011. The scenario stands for about one square metre of reef.
TEST(Aquarium, undosed_loses_alkalinity_and_calcium_as_a_reef_takes_them_up) {
  Scene scene{AquariumSettings{}};
  const double before = scene.alkalinity_dkh();
  scene.pass(48h);
  const double grams_a_day = scene.water.calcified_mmol() * 100.0869 / 1000.0 / 2.0;
  EXPECT_GT(grams_a_day, 1.9);
  EXPECT_LT(grams_a_day, 9.9);
  EXPECT_NEAR((before - scene.alkalinity_dkh()) / 2.0, 0.6, 0.15);
}

TEST(Aquarium, dosed_at_half_of_its_evaporation_keeps_alkalinity_and_volume) {
  Scene scene{AquariumSettings{}};
  scene.pass(24h * 20, 2000);
  EXPECT_NEAR(scene.alkalinity_dkh(), 8.0, 1.0);
  EXPECT_NEAR(scene.water.volume().count(), 400.0, 0.5);
  EXPECT_NEAR(scene.water.salinity().count(), 35.0, 0.1);
  EXPECT_LT(scene.high, 8.6);
}

TEST(Aquarium, dosed_beyond_its_evaporation_overflows_and_freshens) {
  Scene scene{AquariumSettings{}};
  scene.pass(24h * 3, 6000);
  EXPECT_GT(scene.water.volume().count(), 404.0);
  EXPECT_LT(scene.water.salinity().count(), 34.7);
}

TEST(Aquarium, loses_alkalinity_for_good_far_above_saturation) {
  AquariumSettings settings = closed();
  settings.ph = Ph{8.9};
  settings.alkalinity = Dkh{14.0};
  Scene scene{settings};
  ASSERT_GT(scene.water.display().omega_aragonite, 10.0);
  scene.pass(48h);
  EXPECT_LT(scene.water.display().omega_aragonite, 7.5);
}

TEST(Aquarium, keeps_its_last_water_where_chemistry_ends) {
  Scene scene{closed()};
  scene.water.add(Kilograms{200.0}, MmolPerKg{21.0}, 0.0);
  scene.pass(1h);
  EXPECT_TRUE(std::isfinite(scene.water.ph().count()));
  EXPECT_GT(scene.water.ph().count(), 9.0);
}

// Conservation: what is there is what was there and what came.
TEST(Aquarium, closes_its_books_over_a_month) {
  Scene scene{AquariumSettings{}};
  const Budget before = scene.water.content();
  scene.pass(24h * 30, 2500);
  const Budget after = scene.water.content();
  const Budget came = scene.water.came();
  EXPECT_NEAR(after.alkalinity / (before.alkalinity + came.alkalinity), 1.0, 1e-9);
  EXPECT_NEAR(after.carbon / (before.carbon + came.carbon), 1.0, 1e-9);
  EXPECT_NEAR(after.calcium / (before.calcium + came.calcium), 1.0, 1e-9);
  EXPECT_NEAR(after.water / (before.water + came.water), 1.0, 1e-9);
  EXPECT_NE(came.alkalinity, 0.0);
}

}  // namespace
}  // namespace limegate::simulator
