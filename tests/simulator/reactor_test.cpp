#include "simulator/reactor.h"

#include <chrono>
#include <cmath>
#include <numbers>

#include <gtest/gtest.h>

#include "chemistry/limewater.h"

namespace limegate::simulator {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

// Stokes' law at 25 degC: 5, 10 and 20 um sink 67, 268 and 1070 mm/h (common figures of the trade,
// from the same law with rounded constants).
TEST(SinkingSpeed, is_that_of_stokes) {
  EXPECT_NEAR(sinking_speed(5.0).count(), 67.0, 1.0);
  EXPECT_NEAR(sinking_speed(10.0).count(), 268.0, 2.0);
  EXPECT_NEAR(sinking_speed(20.0).count(), 1070.0, 5.0);
}

/// Seconds of a reactor, and what ran out of it.
struct Scene {
  explicit Scene(const ReactorSettings& settings = {}) : reactor(settings) {}
  void pass(Duration duration, Stirrer stirrer, double ml_per_min = 0) {
    for (Duration passed{}; passed < duration; passed += 1s) {
      const Outflow out = reactor.advance(1s, stirrer, Millilitres{ml_per_min / 60.0});
      kg += out.limewater.count();
      mmol += out.limewater.count() * out.strength.count();
      powder_mmol += out.powder_mmol;
    }
  }
  Reactor reactor;
  double kg = 0, mmol = 0, powder_mmol = 0;
};

TEST(Reactor, gives_saturated_clear_limewater_an_hour_after_a_stir) {
  Scene scene;
  scene.pass(15min, Stirrer::running);
  scene.pass(60min, Stirrer::resting);
  scene.pass(100s, Stirrer::resting, 50);
  EXPECT_NEAR(scene.kg, 0.0833, 1e-3);
  EXPECT_NEAR(scene.mmol / scene.kg, chemistry::saturated_strength(Celsius{22.0})->count(), 0.5);
  EXPECT_LT(scene.powder_mmol, 0.02 * scene.mmol);
}

TEST(Reactor, gives_milk_while_it_is_stirred) {
  Scene scene;
  scene.pass(1min, Stirrer::running);
  scene.pass(100s, Stirrer::running, 50);
  EXPECT_GT(scene.powder_mmol, 2.0 * scene.mmol);
}

TEST(Reactor, gives_less_milk_the_longer_it_settles) {
  double before = 1e9;
  for (const Duration rest : {0s, 10s, 1min + 0s, 10min + 0s, 60min + 0s}) {
    Scene scene;
    scene.pass(15min, Stirrer::running);
    scene.pass(rest, Stirrer::resting);
    scene.pass(100s, Stirrer::resting, 50);
    EXPECT_LE(scene.powder_mmol, before);
    before = scene.powder_mmol;
  }
}

// 10 um particles sink 268 mm/h: an upflow above that carries them, however long they settled to
// begin with.
TEST(Reactor, gives_milk_when_the_upflow_is_quicker_than_the_powder_sinks) {
  const auto carried = [](double upflow_mm_h) {
    Scene scene;
    scene.pass(1min, Stirrer::running);
    const double area_mm2 = std::numbers::pi / 4.0 * 100.0 * 100.0;
    scene.pass(30min, Stirrer::resting, upflow_mm_h * area_mm2 / 1000.0 / 60.0);
    return scene.powder_mmol / scene.kg;
  };
  EXPECT_GT(carried(300.0), 2.0 * carried(240.0));
}

TEST(Reactor, runs_out_of_powder_and_then_gives_plain_water) {
  ReactorSettings settings;
  settings.powder_g = 5.0;
  Scene scene{settings};
  double grams_out = 0;
  for (int day = 0; day < 20; ++day) {
    scene.pass(15min, Stirrer::running);
    scene.pass(2h, Stirrer::resting, 10);
  }
  grams_out = (scene.mmol + scene.powder_mmol) * 74.093 / 1000.0;
  EXPECT_LT(scene.reactor.powder_g(), 0.01);
  EXPECT_LT(scene.reactor.strength().count(), 0.5);
  // What ran out is what was in it: the charge, and the saturated water of the start.
  const double start_mmol =
      chemistry::saturated_strength(Celsius{22.0})->count() * std::numbers::pi / 4.0 * 4.0;
  EXPECT_NEAR(grams_out + scene.reactor.strength().count() * std::numbers::pi * 74.093 / 1000.0,
              5.0 + start_mmol * 74.093 / 1000.0, 0.05);
}

TEST(Reactor, without_powder_is_washed_out_by_its_inflow) {
  ReactorSettings settings;
  settings.powder_g = 0.0;
  Scene scene{settings};
  const double before = scene.reactor.strength().count();
  const double litres = std::numbers::pi / 4.0 * 4.0;  // 100 mm bore, 400 mm high
  scene.pass(60min, Stirrer::resting, litres * 1000.0 / 60.0);
  EXPECT_NEAR(scene.reactor.strength().count() / before, std::exp(-1.0), 1e-3);
}

// Tanks in series without a source: after one volume the last of n holds the share that a Poisson
// distribution of mean n has below n (Levenspiel's residence times, from memory; 1/e for one).
TEST(Reactor, in_layers_is_washed_out_as_tanks_in_series_are) {
  for (const int layers : {1, 3, 10, 20}) {
    ReactorSettings settings;
    settings.powder_g = 0.0;
    settings.layers = layers;
    Scene scene{settings};
    const double before = scene.reactor.strength().count();
    const double litres = std::numbers::pi / 4.0 * 4.0;
    scene.pass(60min, Stirrer::resting, litres * 1000.0 / 60.0);
    double share = 0, term = std::exp(-layers);
    for (int k = 0; k < layers; ++k) {
      share += term;
      term *= layers / (k + 1.0);
    }
    EXPECT_NEAR(scene.reactor.strength().count() / before, share, 3e-3) << layers;
  }
}

// Drawn fast it gives what lay there, 0.0203 mol/L at 25 degC (Bates, Bower & Smith 1956), until
// that is used up, and then less (from memory: keepers tell it of any reactor); drawn in the plan's
// small portions it stays strong.
TEST(Reactor, in_layers_is_strong_until_its_water_is_used_up_and_weak_after) {
  ReactorSettings settings;
  settings.temperature = Celsius{25.0};
  settings.layers = 20;
  Scene scene{settings};
  const auto drawn = [&](double litres) {
    scene.kg = scene.mmol = 0;
    scene.pass(std::chrono::seconds{std::lround(litres / 0.1 * 60)}, Stirrer::resting, 100);
    return scene.mmol / scene.kg;
  };
  EXPECT_NEAR(drawn(1.0), 20.3, 0.3);
  const double late = (drawn(3.0), drawn(1.0));
  EXPECT_LT(late, 0.6 * 20.3);
  EXPECT_GT(late, 0.2 * 20.3) << "it picks some up in passing";
  settings.layers = 1;
  Scene mixed{settings};
  mixed.pass(30min, Stirrer::resting, 100);
  EXPECT_LT(mixed.reactor.strength().count(), 0.75 * 20.3) << "a mixed one is weak much earlier";
  settings.layers = 20;
  Scene portions{settings};
  for (int i = 0; i < 96; ++i) {
    portions.kg = portions.mmol = 0;
    portions.pass(25s, Stirrer::resting, 50);
    portions.pass(15min, Stirrer::resting);
  }
  EXPECT_NEAR(portions.mmol / portions.kg, 20.3, 0.6) << "2 L a day";
}

// What leaves is what was there and what dissolved, layers or not, and however fast.
TEST(Reactor, closes_its_books_in_layers) {
  for (const int layers : {1, 7, 20}) {
    ReactorSettings settings;
    settings.bore = Millimetres{30.0};
    settings.layers = layers;
    Scene scene{settings};
    const double litres = std::numbers::pi / 4.0 * 0.3 * 0.3 * 4.0;
    const double before = scene.reactor.powder_g() / 74.093 * 1000.0 +
                          chemistry::saturated_strength(Celsius{22.0})->count() * litres;
    for (int day = 0; day < 5; ++day) {
      scene.pass(15min, Stirrer::running);
      scene.pass(2h, Stirrer::resting, 30);
      scene.pass(10s, Stirrer::resting, 1900);  // more in a second than a layer holds
    }
    scene.pass(1h, Stirrer::running);  // all layers alike
    const double after =
        scene.reactor.powder_g() / 74.093 * 1000.0 + scene.reactor.strength().count() * litres;
    EXPECT_NEAR((after + scene.mmol + scene.powder_mmol) / before, 1.0, 1e-9) << layers;
  }
}

TEST(Reactor, that_air_gets_into_gives_weaker_limewater) {
  ReactorSettings settings;
  settings.spoiled = Percent{30.0};
  Scene fresh;
  Scene stale{settings};
  fresh.pass(10s, Stirrer::resting, 50);
  stale.pass(10s, Stirrer::resting, 50);
  EXPECT_NEAR(stale.mmol / fresh.mmol, 0.7, 1e-6);
}

TEST(Reactor, powder_that_is_taken_away_is_gone_even_while_it_is_stirred) {
  Reactor reactor{ReactorSettings{}};
  reactor.stir();
  ASSERT_GT(reactor.suspended_g(), 40.0);
  reactor.set_powder(20.0);
  EXPECT_NEAR(reactor.powder_g(), 20.0, 1e-9);
  reactor.set_powder(0.0);
  EXPECT_EQ(reactor.powder_g(), 0.0);
  reactor.set_powder(110.0);
  EXPECT_NEAR(reactor.powder_g(), 110.0, 1e-9);
}

}  // namespace
}  // namespace limegate::simulator
