#include <chrono>
#include <cmath>

#include <gtest/gtest.h>

#include "simulator/scene.h"

namespace limegate::simulator {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

/// Micromol of crystals in a kilogram of water that is kept so for an hour.
double crystals_in(double omega, double lime) {
  Precipitation solids;
  for (int step = 0; step < 360; ++step) {
    (void)solids.pass(10.0 / 3600.0, {1.0, omega, 0.0, lime, 0.0, 1e9});
  }
  return solids.crystals();
}

// Marion, Millero & Feistel 2009, Ocean Sci. 5, 285 (from memory): seawater keeps still up to 18.8.
// Moras et al. 2022, Biogeosciences 19, 3537: on grains of lime from about 7 on, and not near 5.
TEST(Crystals, come_of_themselves_and_on_lime_where_it_is_published) {
  EXPECT_EQ(crystals_in(18.7, 0.0), 0.0);
  EXPECT_GT(crystals_in(19.5, 0.0), 1.0);
  EXPECT_EQ(crystals_in(5.0, 100.0), 0.0);
  EXPECT_EQ(crystals_in(7.0, 100.0), 0.0);
  EXPECT_GT(crystals_in(7.1, 100.0), 10.0);
}

// 40.6 (omega - 1)^1.7 micromol an hour and square metre (Burton & Walter 1987, from memory), of
// which 100 micromol of 1 m2/g have 0.01: at an omega of 5, 4.29 micromol in the first hour.
TEST(Crystals, grow_as_published_and_are_filtered_out) {
  Precipitation solids;
  solids.add_crystals(100.0);
  const auto formed = solids.pass(0.01, {1.0, 5.0, 0.0, 0.0, 0.0, 1e9});
  EXPECT_NEAR(formed.aragonite / 0.01, 40.6 * std::pow(4.0, 1.7) * 0.0100087, 1e-3);
  EXPECT_NEAR(solids.crystals(), 100.0 + formed.aragonite - 100.0 * 0.05 * 0.01, 1e-9);
  const auto no_more = solids.pass(0.01, {1.0, 5.0, 0.0, 0.0, 0.0, 0.001});
  EXPECT_EQ(no_more.aragonite, 0.001) << "no more than there is";
}

/// Closed water of this saturation: sodium carbonate raises it, and no grain of lime is in it.
Scene at_omega(double omega) {
  AquariumSettings settings = closed();
  settings.ph = Ph{8.3};
  for (double mmol = 0;; mmol += 20) {
    Scene scene{settings};
    scene.water.add_sodium_carbonate(mmol);
    scene.pass(10min);
    if (scene.water.display().omega_aragonite >= omega) {
      return scene;
    }
  }
}

struct Threshold {
  const char* name;
  double omega;
  bool falls_out;  ///< as a white cloud within hours
};
std::ostream& operator<<(std::ostream& out, const Threshold& row) { return out << row.name; }
// Without grains of lime; pumps and walls shed some of their own. Clear water below, a white cloud
// above about 19 (as above); with NaOH at omega 30 (Ringham et al. 2024, bg-21-3551).
const Threshold kThresholds[] = {{"a_tank_that_is_well", 4.5, false},
                                 {"above_what_milk_would_set_off", 9.0, false},
                                 {"below_the_threshold", 15.0, false},
                                 {"above_the_threshold", 22.0, true},
                                 {"far_above_it", 30.0, true}};
class PrecipitationTable : public testing::TestWithParam<Threshold> {};
INSTANTIATE_TEST_SUITE_P(Rows, PrecipitationTable, testing::ValuesIn(kThresholds),
                         [](const auto& row) { return std::string{row.param.name}; });

TEST_P(PrecipitationTable, without_grains_begins_where_it_is_published) {
  Scene scene = at_omega(GetParam().omega);
  scene.pass(6h);
  EXPECT_EQ(scene.water.cloud() > MgPerLitre{10.0}, GetParam().falls_out)
      << scene.water.cloud().count();
}

/// Grains of milk of this much alkalinity, in micromol/kg, in closed water of 8 dKH, for two weeks.
struct Milk {
  explicit Milk(double micromol_per_kg) : scene(settings()) {
    before = scene.water.display();
    const double mmol = micromol_per_kg / 2.0 * scene.water.content().water / 1000.0;
    scene.water.add(Kilograms{0.001}, MmolPerKg{0.0}, mmol);
    scene.pass(2h);
    dosed = scene.water.display();
    scene.pass(24h * 14);
    after = scene.water.display();
  }
  static AquariumSettings settings() {
    AquariumSettings settings = closed();
    settings.ph = Ph{8.15};
    return settings;
  }
  Scene scene;
  chemistry::CarbonateState before{}, dosed{}, after{};
};

// Moras et al. 2022, Biogeosciences 19, 3537: with slaked lime no loss near an omega of 5; above
// about 7 a runaway that takes more alkalinity than was added.
TEST(Precipitation, on_grains_of_lime_runs_away_above_seven_and_not_near_five) {
  const Milk little{80};
  EXPECT_NEAR(little.dosed.omega_aragonite, 5.0, 0.6);
  EXPECT_NEAR(little.after.alkalinity.count(), little.dosed.alkalinity.count(), 1.0);
  const Milk much{700};
  EXPECT_GT(much.dosed.omega_aragonite, 7.0);
  EXPECT_LT(much.after.alkalinity.count(), much.before.alkalinity.count());
  EXPECT_LT(much.after.omega_aragonite, 4.5);
  EXPECT_GT(much.after.omega_aragonite, 1.0);
}

// Two of alkalinity go with each carbon and each calcium; the solids hold what the water lost.
TEST(Precipitation, takes_calcium_carbonate_and_nothing_else) {
  Scene scene = at_omega(25.0);
  const Budget before = scene.water.content();
  const double solid = scene.water.precipitated_mmol() + scene.water.calcified_mmol();
  scene.pass(24h);
  const Budget after = scene.water.content();
  const double formed =
      (scene.water.precipitated_mmol() + scene.water.calcified_mmol() - solid) * 1000.0;
  ASSERT_GT(scene.water.precipitated_mmol(), 50.0);
  EXPECT_NEAR((before.calcium - after.calcium) / formed, 1.0, 1e-9);
  EXPECT_NEAR((before.carbon - after.carbon) / formed, 1.0, 1e-9);
  EXPECT_NEAR((before.alkalinity - after.alkalinity) / formed, 2.0, 1e-9);
}

// A white cloud is gone in about a day or two (common practice).
TEST(Precipitation, makes_the_water_cloudy_and_filters_clear_it) {
  Scene scene{closed()};
  scene.water.stir_up_crystals(MgPerLitre{50.0});
  EXPECT_NEAR(scene.water.cloud().count(), 50.0, 1e-6);
  scene.pass(12h);
  EXPECT_GT(scene.water.cloud(), MgPerLitre{20.0});
  scene.pass(24h * 6);
  EXPECT_LT(scene.water.cloud(), MgPerLitre{2.0});
  EXPECT_GT(scene.water.precipitated_mmol(), 0.0) << "they grew meanwhile";
}

// From a pH of 9.5 to 10 on brucite takes the excess (common practice), and it dissolves again when
// the pH falls: all that it took comes back.
TEST(Precipitation, of_brucite_takes_the_excess_and_comes_back) {
  AquariumSettings settings = closed();
  settings.calcium = MgPerLitre{100.0};  // little to precipitate as aragonite
  settings.gas_exchange_per_h = 3.0;
  Scene scene{settings};
  for (int minute = 0; minute < 60; ++minute) {
    scene.water.add(Kilograms{0.001}, MmolPerKg{0.0}, 20.0);
    scene.pass(1min);
  }
  scene.pass(20min);
  const Budget milky = scene.water.content();
  const double dissolved = scene.water.display().alkalinity.count() * milky.water;
  EXPECT_GT(scene.high, 9.6);
  EXPECT_LT(dissolved, 0.98 * milky.alkalinity) << "the rest is brucite";
  scene.pass(24h * 20);
  EXPECT_LT(scene.water.ph().count(), 9.0);
  const Budget clear = scene.water.content();
  EXPECT_NEAR(scene.water.display().alkalinity.count() * clear.water / clear.alkalinity, 1.0, 1e-3);
}

}  // namespace
}  // namespace limegate::simulator
