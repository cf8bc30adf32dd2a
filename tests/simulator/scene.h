#pragma once

#include <algorithm>
#include <chrono>
#include <cmath>

#include "chemistry/keeper_units.h"
#include "chemistry/limewater.h"
#include "simulator/aquarium.h"

namespace limegate::simulator {

inline const Moment kStart{Instant{std::chrono::hours{1}},
                           WallTime{std::chrono::hours{24 * 20000}}};

/// Nothing comes or goes by itself.
inline AquariumSettings closed() {
  AquariumSettings settings;
  settings.gas_exchange_per_h = 0;
  settings.respiration_per_h = MicromolPerKg{0};
  settings.demand_per_day = Dkh{0};
  settings.evaporation_per_day = Millilitres{0};
  settings.temperature_swing = CelsiusChange{0};
  return settings;
}

/// Lets time pass in ten-second steps with an even dose of saturated limewater.
struct Scene {
  explicit Scene(const AquariumSettings& settings) : water(settings) {}
  void pass(Duration duration, double ml_per_day = 0) {
    const auto limewater = chemistry::saturated_limewater(Celsius{22.0});
    for (const Instant end = now.mono + duration; now.mono < end;) {
      now.mono += std::chrono::seconds{10};
      now.wall += std::chrono::seconds{10};
      if (ml_per_day > 0) {
        water.add(Kilograms{ml_per_day / 8640.0 / 1000.0}, limewater->strength, 0);
      }
      water.advance(now, std::chrono::seconds{10});
      low = std::min(low, water.ph().count());
      high = std::max(high, water.ph().count());
      if ((now.mono - kStart.mono) % std::chrono::minutes{30} == Duration::zero()) {
        steepest = std::max(steepest, std::fabs(water.ph().count() - before) * 2.0);
        before = water.ph().count();
      }
    }
  }
  [[nodiscard]] double alkalinity_dkh() const {
    return chemistry::to_dkh(
               chemistry::to_meq_per_litre(water.display().alkalinity, KgPerLitre{1.0234}))
        .count();
  }
  Aquarium water;
  Moment now = kStart;
  double low = 14, high = 0, steepest = 0, before = water.ph().count();
};

}  // namespace limegate::simulator
