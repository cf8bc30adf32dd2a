#include <chrono>

#include <gtest/gtest.h>

#include "simulator/scene.h"

namespace limegate::simulator {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

/// All that a tank can have at once.
AquariumSettings lived_in() {
  AquariumSettings settings;
  settings.habits = {Percent{15.0}, 5, MicromolPerKg{40.0}, 3, Millilitres{400.0}, 0.4};
  return settings;
}

// Dilution by a share at a time: what differs from the new water shrinks by 1 - 20 %.
TEST(WaterChange, brings_the_water_nearer_to_new_water_by_its_share) {
  AquariumSettings settings = closed();
  settings.habits.water_change = Percent{20.0};
  settings.habits.water_change_days = 4;  // the scene begins on such a day
  Scene scene{settings};
  const double fresh = scene.water.display().alkalinity.count();
  scene.water.add_sodium_carbonate(40.0);
  scene.pass(6h);
  const double above = scene.water.display().alkalinity.count() - fresh;
  scene.pass(24h);
  // It takes a while, in which it mixes: a share at a time, exp(-0.2) of it is left.
  EXPECT_NEAR((scene.water.display().alkalinity.count() - fresh) / above, std::exp(-0.2), 2e-3);
  const double left = scene.water.display().alkalinity.count();
  scene.pass(24h * 2);
  EXPECT_NEAR(scene.water.display().alkalinity.count(), left, 1e-6) << "not before the fourth day";
  EXPECT_NEAR(scene.water.salinity().count(), 35.0, 1e-9);
}

// A meal's CO2 lowers pH for some hours (common practice).
TEST(Meal, lowers_the_ph_and_is_all_given) {
  AquariumSettings settings = closed();
  settings.habits.feeding = MicromolPerKg{30.0};
  settings.habits.feedings_per_day = 2;  // at noon and at six in the evening
  Scene scene{settings};
  const double before = scene.water.content().carbon;
  const double ph = scene.water.ph().count();
  scene.pass(11h);
  EXPECT_NEAR(scene.water.ph().count(), ph, 1e-6);
  scene.pass(5h);
  EXPECT_LT(scene.water.ph().count(), ph - 0.02);
  scene.pass(2h + 17h);  // to eleven of the next day
  EXPECT_NEAR((scene.water.content().carbon - before) / (60.0 * 0.8 * 400.0 * 1.0234), 1.0, 1e-2);
}

// 0.4 kg a day of 400 L, which weigh 1.0234 kg each, made up with fresh water.
TEST(Skimmate, takes_salt_that_the_top_off_does_not_bring_back) {
  AquariumSettings settings = closed();
  settings.habits.skimmate_per_day = Millilitres{400.0};
  Scene scene{settings};
  scene.pass(24h * 30);
  EXPECT_NEAR(scene.water.salinity().count(), 35.0 * std::exp(-0.03 / 1.0234), 0.03);
  EXPECT_NEAR(scene.water.volume().count(), 400.0, 0.3);
}

TEST(TopOff, that_gives_nothing_leaves_the_salt_behind) {
  AquariumSettings settings = closed();
  settings.evaporation_per_day = Millilitres{4000.0};
  settings.habits.season_swing = 0.0;
  Scene scene{settings};
  scene.water.set_top_off(MillilitresPerMinute{0.0});
  scene.pass(24h * 5);
  // 20 of 400 L, which weigh 1.0234 kg each.
  EXPECT_NEAR(scene.water.salinity().count(), 35.0 / (1.0 - 20.0 / 400.0 / 1.0234), 0.02);
  scene.water.set_top_off(std::nullopt);
  scene.pass(1h);
  EXPECT_NEAR(scene.water.salinity().count(), 35.0, 0.05);
}

// For weeks: the sump runs low, and the display falls with it, but never below nothing.
TEST(TopOff, that_never_gives_leaves_water_that_can_be_reckoned_with) {
  AquariumSettings settings;
  settings.evaporation_per_day = Millilitres{4000.0};
  Scene scene{settings};
  scene.water.set_top_off(MillilitresPerMinute{0.0});
  scene.pass(24h * 60);
  EXPECT_TRUE(std::isfinite(scene.water.ph().count()));
  EXPECT_LT(scene.water.volume().count(), 250.0);
  EXPECT_GT(scene.water.salinity().count(), 40.0);
}

TEST(TopOff, that_never_ends_freshens_the_water) {
  Scene scene{closed()};
  scene.water.set_top_off(MillilitresPerMinute{50.0});
  scene.pass(12h);
  EXPECT_NEAR(scene.water.salinity().count(), 35.0 / (1.0 + 36.0 / 400.0 / 1.0234), 0.05);
}

// Heated rooms are dry: more goes in January than in July (common practice).
TEST(Evaporation, differs_by_season) {
  const auto gone = [](double swing, WallTime from) {
    AquariumSettings settings = closed();
    settings.evaporation_per_day = Millilitres{4000.0};
    settings.habits.season_swing = swing;
    Scene scene{settings};
    scene.water.set_top_off(MillilitresPerMinute{0.0});
    scene.now.wall = from;
    scene.pass(24h * 3);
    return -scene.water.came().water / 3.0;
  };
  const WallTime january{std::chrono::sys_days{std::chrono::January / 14 / 2026}};
  const WallTime july{std::chrono::sys_days{std::chrono::July / 15 / 2026}};
  EXPECT_NEAR(gone(0.4, january), 5.6, 0.02);
  EXPECT_NEAR(gone(0.4, july), 2.4, 0.02);
  EXPECT_NEAR(gone(0.0, july), 4.0, 0.02);
}

// Mass balance with all of it on: alkalinity, carbon, calcium, water and salt over four months,
// with milk, a crash, a top-off that fails and one that never ends.
TEST(Tank, that_is_lived_in_closes_its_books_over_months) {
  Scene scene{lived_in()};
  const Budget before = scene.water.content();
  for (int month = 0; month < 4; ++month) {
    scene.pass(24h * 20, 2500);
    scene.water.add(Kilograms{0.1}, MmolPerKg{20.0}, 800.0);
    scene.pass(24h * 3, 1000);
    scene.water.set_top_off(MillilitresPerMinute{month % 2 == 0 ? 0.0 : 20.0});
    scene.pass(24h);
    scene.water.set_top_off(std::nullopt);
    scene.water.add_sodium_carbonate(300.0);
    scene.water.stir_up_crystals(MgPerLitre{20.0});
    scene.pass(24h * 6, 2000);
  }
  EXPECT_GT(scene.water.precipitated_mmol(), 100.0);
  const Budget after = scene.water.content();
  const Budget came = scene.water.came();
  EXPECT_NEAR(after.alkalinity / (before.alkalinity + came.alkalinity), 1.0, 1e-9);
  EXPECT_NEAR(after.carbon / (before.carbon + came.carbon), 1.0, 1e-9);
  EXPECT_NEAR(after.calcium / (before.calcium + came.calcium), 1.0, 1e-9);
  EXPECT_NEAR(after.water / (before.water + came.water), 1.0, 1e-9);
  EXPECT_NEAR(after.salt / (before.salt + came.salt), 1.0, 1e-9);
}

// A tank's pH swings 0.1 to 0.4 over a day, at up to about 0.05 pH/h but for meals (common
// practice).
TEST(Tank, that_is_lived_in_swings_within_a_day_as_tanks_do) {
  Scene scene{lived_in()};
  scene.pass(72h, 2000);
  scene.low = 14;
  scene.high = 0;
  scene.steepest = 0;
  scene.pass(24h, 2000);
  EXPECT_GT(scene.high - scene.low, 0.1);
  EXPECT_LT(scene.high - scene.low, 0.4);
  EXPECT_LT(scene.steepest, 0.1);
  EXPECT_GT(scene.low, 7.7);
  EXPECT_LT(scene.high, 8.6);
}

}  // namespace
}  // namespace limegate::simulator
