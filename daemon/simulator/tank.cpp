#include "simulator/tank.h"

#include <cmath>
#include <numbers>

namespace limegate::simulator {
namespace {

constexpr Duration kStep = std::chrono::seconds{1};

double seconds(Duration duration) { return std::chrono::duration<double>(duration).count(); }

double hour_of_day(WallTime wall) {
  const auto day = std::chrono::floor<std::chrono::days>(wall);
  return seconds(wall - day) / 3600.0;
}

}  // namespace

Tank::Tank(const TankSettings& settings, Moment start)
    : settings_(settings), now_(start), random_(settings.seed) {}

void Tank::advance(Moment now) {
  while (now_.mono + kStep <= now.mono) {
    now_.mono += kStep;
    now_.wall = now.wall - (now.mono - now_.mono);
    second(now_);
  }
}

void Tank::second(Moment at) {
  const double dt = seconds(kStep);
  if (stirrer_until_) {
    turbidity_ = 1.0;
    if (at.mono >= *stirrer_until_) {
      stirrer_until_.reset();
    }
  } else {
    turbidity_ *= std::exp(-dt / seconds(settings_.milk_clears));
  }
  deviation_ *= std::exp(-dt / seconds(settings_.ph_return));
  if (pump_until_) {
    const Millilitres flowed{settings_.pump_rate.count() * dt / 60.0};
    delivered_ += flowed;
    const double strength = 1.0 + (settings_.milk_strength - 1.0) * turbidity_;
    deviation_ += strength * settings_.ph_per_ml_per_l * flowed.count() / settings_.water.count();
    if (at.mono >= *pump_until_) {
      pump_until_.reset();
    }
  }
}

double Tank::usual_ph() const {
  // Lowest at the end of the night, highest at the end of the day.
  const double phase = 2.0 * std::numbers::pi * (hour_of_day(now_.wall) - 12.0) / 24.0;
  return settings_.ph_mean + settings_.ph_swing / 2.0 * std::sin(phase);
}

double Tank::sample_ph() { return usual_ph() + deviation_ + settings_.ph_noise * normal_(random_); }

double Tank::sample_temperature() {
  const double phase = 2.0 * std::numbers::pi * (hour_of_day(now_.wall) - 10.0) / 24.0;
  return settings_.temperature + settings_.temperature_swing / 2.0 * std::sin(phase) +
         settings_.temperature_noise * normal_(random_);
}

void Tank::run_for(Part part, Duration duration) {
  (part == Part::pump ? pump_until_ : stirrer_until_) = now_.mono + duration;
}

void Tank::off(Part part) { (part == Part::pump ? pump_until_ : stirrer_until_).reset(); }

ports::OutletState Tank::state(Part part) const {
  const auto& until = part == Part::pump ? pump_until_ : stirrer_until_;
  return until ? ports::OutletState::on : ports::OutletState::off;
}

}  // namespace limegate::simulator
