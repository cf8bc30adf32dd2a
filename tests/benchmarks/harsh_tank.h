#pragma once

#include <cmath>
#include <cstdint>
#include <numbers>
#include <random>

#include "chemistry/limewater.h"
#include "simulator/aquarium.h"
#include "units/quantities.h"
#include "units/time.h"

namespace limegate::benchmarks {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

constexpr Duration kStep = 10s;
constexpr Duration kMinute = 1min;
constexpr Duration kMixesIn = 3min;  ///< as a station waits

using Random = std::mt19937_64;
inline double normal(Random& random) { return std::normal_distribution<double>{}(random); }
inline double uniform(Random& random, double low, double high) {
  return std::uniform_real_distribution<double>{low, high}(random);
}

/// What is poured into the sump beside the plan, from when on.
struct Extra {
  double ph_per_h = 0.0;    ///< shown by the probe, whatever it comes from
  double mmol_per_s = 0.0;  ///< of calcium hydroxide, dissolved
  double powder_mmol_per_s = 0.0;
};

/// A tank of 400 L with a station's dosing: 2 L a day in the clear windows of two-hour cycles. The
/// aquarium is the simulator's; wander, noise, events and climbs are a scenario of our own, on
/// purpose harsher than most tanks.
class HarshTank {
 public:
  explicit HarshTank(std::uint64_t seed) : random_(seed) {}

  struct Seen {
    bool disturbed = false;
    bool mixed = true;  ///< as a station waits for it after a pulse
    Instant rested_since;
    double ph = 0.0;
    Millilitres dosed;
  };
  Seen step(const Extra& extra) {
    now.mono += kStep;
    now.wall += kStep;
    const Duration of_cycle = (now.mono - stirred_at_) % 2h;
    Seen seen;
    if (std::uniform_int_distribution<int>{0, 8640 * 7 - 1}(random_) == 0) {
      // Once a week the keeper pauses dosing, and stirs by hand when it goes on.
      stirred_at_ = now.mono + std::chrono::minutes{static_cast<int>(uniform(random_, 120, 900))};
    }
    // Three pulses of 55.6 mL and 67 s, as the plan has them.
    const Duration into_slot = (of_cycle - 75min) % 15min;
    const bool pumps = of_cycle >= 75min && into_slot >= 450s && into_slot < 520s;
    if (pumps) {
      pour(Millilitres{55.6 / 7.0});
      seen.dosed = into_slot == 510s ? Millilitres{55.6} : Millilitres{};
      disturbed_until_ = now.mono + 60s;
      mixed_at_ = now.mono + kMixesIn;
    }
    if (of_cycle < 15min && of_cycle >= Duration::zero()) {
      disturbed_until_ = now.mono + 60s;
    }
    live();
    water_.add(Kilograms{1e-9}, MmolPerKg{extra.mmol_per_s * 10.0 / 1e-9},
               extra.powder_mmol_per_s * 10.0);
    water_.advance(now, kStep);
    seen.disturbed = now.mono < disturbed_until_;
    seen.mixed = now.mono >= mixed_at_;
    seen.rested_since = now.mono - of_cycle + 15min;
    shown_more_ += extra.ph_per_h * 10.0 / 3600.0;
    // No two days have the same light: 12 % of the day's swing.
    const double day = std::chrono::duration<double>(now.mono.time_since_epoch() % 24h) / 24h;
    const double swing = 0.15 * (1.0 - std::cos(2.0 * std::numbers::pi * day));
    seen.ph = water_.ph().count() + light_ * swing + shown_more_ + fast_ + 0.01 * normal(random_);
    return seen;
  }
  [[nodiscard]] double animals_ph() const { return water_.display().ph_nbs.count(); }
  [[nodiscard]] Ph ph() const { return water_.ph(); }

  Moment now{Instant{0h}, WallTime{24h * 20000}};
  static constexpr Litres kVolume{400.0};

 private:
  void pour(Millilitres volume) {
    const auto limewater = chemistry::saturated_limewater(Celsius{21.0}).value();
    water_.add(Kilograms{volume.count() / 1000.0 * limewater.density.count()}, limewater.strength,
               0.0);
  }
  /// What makes a real tank wander: the room, hands in the water, a fast flutter.
  void live() {
    const double hours = 10.0 / 3600.0;
    room_ += -room_ * hours / 6.0 + 70.0 * std::sqrt(2.0 * hours / 6.0) * normal(random_);
    water_.set_room_co2(settings_.room_co2_ppm + room_);
    fast_ += -fast_ * hours * 3.0 + 0.003 * std::sqrt(6.0 * hours) * normal(random_);
    if (now.mono.time_since_epoch() % 24h == Duration::zero()) {
      light_ = 0.12 * normal(random_);
    }
    // Something is added by hand within half an hour, once in four days: +0.015 to +0.06, and more
    // at the probe meanwhile.
    if (std::uniform_int_distribution<int>{0, 8640 * 4 - 1}(random_) == 0) {
      by_hand_mmol_ += uniform(random_, 2.5, 10.0);
      by_hand_until_ = now.mono + 30min;
    }
    if (now.mono < by_hand_until_) {
      const double share = 10.0 / std::chrono::duration<double>(by_hand_until_ - now.mono).count();
      water_.add(Kilograms{1e-9}, MmolPerKg{by_hand_mmol_ * share / 1e-9}, 0.0);
      by_hand_mmol_ -= by_hand_mmol_ * share;
    }
  }

  simulator::AquariumSettings settings_;
  simulator::Aquarium water_{settings_};
  Random random_;
  double room_ = 0.0, fast_ = 0.0, light_ = 0.0, shown_more_ = 0.0;
  double by_hand_mmol_ = 0.0;
  Instant by_hand_until_{}, stirred_at_{}, disturbed_until_{}, mixed_at_{};
};

}  // namespace limegate::benchmarks
