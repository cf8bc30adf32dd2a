#include "rehearsal/rehearsed_probes.h"

#include <chrono>
#include <cmath>

#include <gtest/gtest.h>

#include "rehearsal/campaign.h"
#include "rehearsal/scene.h"

namespace limegate::rehearsal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using Kind = Fault::Kind;

/// Probes without noise or last digit over still water of 25 degC and pH 8.2.
struct Bench {
  Bench()
      : tank(still(), {Instant{1h}, WallTime{std::chrono::hours{24 * 20454}}}),
        probes(tank, settings(), 1) {}
  static simulator::TankSettings still() {
    simulator::TankSettings tank;
    tank.ph_noise = tank.temperature_noise = 0;
    tank.aquarium.ph = Ph{8.2};
    tank.aquarium.temperature = Celsius{25.0};
    return tank;
  }
  static station::Settings settings() {
    station::Settings settings = plan(24h).settings;
    settings.ph.resolution = settings.temperature.resolution = 1e-9;
    settings.second_ph.emplace().resolution = 1e-9;
    return settings;
  }
  RehearsedProbes::Shown after(Duration time) { return probes.sample(faults, time); }
  simulator::Tank tank;
  RehearsedProbes probes;
  ActiveFaults faults;
};

// An electrode is replaced at 85 % of its slope (common practice): a meter that was calibrated when
// it had all of it then shows 8.2 as 7 + 0.85 * 1.2 = 8.02.
TEST(Electrode, that_loses_its_slope_shows_too_little) {
  Bench bench;
  bench.faults.begin({Kind::ph_slope, 0s, 24h * 100, 0.5});
  EXPECT_NEAR(*bench.after(0s).ph, 8.2, 1e-6);
  EXPECT_NEAR(*bench.after(24h * 30).ph, 8.02, 1e-6);
  EXPECT_NEAR(*bench.after(24h * 30).second_ph, 8.2, 1e-6) << "the other one is sound";
  EXPECT_NEAR(*bench.after(24h * 90).ph, 7.0 + 0.6 * 1.2, 1e-6) << "60 % is the least there is";
}

// Ignoring temperature costs some 0.004 pH a kelvin at pH 8.2: (8.2 - 7) / 298 (Nernst).
TEST(Compensation, for_another_temperature_costs_four_thousandths_a_kelvin) {
  for (const double kelvin : {-10.0, 10.0}) {
    Bench bench;
    bench.faults.begin({Kind::second_compensation, 0s, 72h, kelvin});
    EXPECT_NEAR(*bench.after(1h).second_ph - 8.2, -0.004 * kelvin, 0.002);
    EXPECT_NEAR(*bench.after(1h).ph, 8.2, 1e-6);
  }
}

// A film of 60 s a day is a lag of ten minutes after ten days: 63 % of a step after that time.
TEST(Film, on_a_probe_makes_it_slower_each_day) {
  Bench bench;
  bench.faults.begin({Kind::ph_fouling, 0s, 24h * 30, 60});
  EXPECT_NEAR(*bench.after(24h * 10).ph, 8.2, 1e-6);
  bench.faults.begin({Kind::ph_offset, 24h * 10, 24h, 0.1});
  double shown = 0;
  for (int second = 1; second <= 600; ++second) {
    shown = *bench.after(24h * 10).ph;
  }
  EXPECT_NEAR(shown, 8.2 + 0.1 * (1.0 - std::exp(-1.0)), 1e-3);
}

TEST(Habits, are_the_same_for_the_same_seed_and_within_what_a_file_may_say) {
  const Habits usual{Bench::still(), WallTime{std::chrono::hours{24 * 20454}}};
  bool plain = false;
  bool changed = false;
  for (std::uint64_t seed = 1; seed <= 200; ++seed) {
    const Habits drawn = random_habits(seed, usual);
    const auto& habits = drawn.tank.aquarium.habits;
    EXPECT_EQ(random_habits(seed, usual).start, drawn.start);
    EXPECT_EQ(random_habits(seed, usual).tank.reactor.layers, drawn.tank.reactor.layers);
    EXPECT_LE(habits.water_change, Percent{50.0});
    EXPECT_GE(habits.water_change_days, 1);
    EXPECT_LE(habits.feeding, MicromolPerKg{200.0});
    EXPECT_LE(habits.skimmate_per_day, Millilitres{4000.0});
    EXPECT_LE(habits.season_swing, 0.5);
    EXPECT_GE(drawn.tank.reactor.layers, 1);
    EXPECT_LE(drawn.tank.reactor.layers, 20);
    plain = plain || drawn.start == usual.start;
    changed = changed || habits.water_change > Percent{10.0};
  }
  EXPECT_TRUE(plain);
  EXPECT_TRUE(changed);
}

// A crash of the water takes alkalinity and pH with it; dosing, which makes up for a day's use,
// goes on within its plan.
TEST(Crash, of_the_water_takes_alkalinity_and_breaks_no_promise) {
  const Outcome well = rehearse(plan(24h * 4));
  const Outcome crashed = rehearse(plan(24h * 4), {{Kind::precipitation, 30h, 0s, 150}});
  EXPECT_LT(crashed.alkalinity_end, well.alkalinity_end - Dkh{1.0});
  EXPECT_LT(crashed.ph_low, well.ph_low - 0.05);
  EXPECT_LT(well.cloud_highest, MgPerLitre{1.0});
  EXPECT_GT(crashed.cloud_highest, MgPerLitre{140.0});
  EXPECT_EQ(lines(crashed.violations), "");
  EXPECT_LE(crashed.counted, crashed.planned + Millilitres{85.0});
}

}  // namespace
}  // namespace limegate::rehearsal
