#include "simulator/tank.h"

#include <algorithm>
#include <chrono>

namespace limegate::simulator {
namespace {

constexpr Duration kStep = std::chrono::seconds{1};

}  // namespace

Tank::Tank(const TankSettings& settings, Moment start)
    : settings_(settings),
      now_(start),
      aquarium_(settings.aquarium),
      reactor_(settings.reactor),
      random_(settings.seed) {}

void Tank::go_on_from(Moment now) {
  now_ = now;
  pump_until_.reset();
  stirrer_until_.reset();
  turns_until_ = now.mono;
}

void Tank::advance(Moment now) {
  while (now_.mono + kStep <= now.mono) {
    now_.mono += kStep;
    now_.wall = now.wall - (now.mono - now_.mono);
    second(now_);
  }
}

void Tank::second(Moment at) {
  const double minutes = std::chrono::duration<double, std::ratio<60>>(kStep).count();
  const double turns = turning_share(at.mono);
  const double rate = settings_.pump_rate.count() * settings_.pump_share * pump_factor_ * turns +
                      siphon_.count() * (1.0 - turns);
  const Millilitres flow{rate * minutes};
  delivered_ += flow;
  const Outflow out = reactor_.advance(kStep, stirs() ? Stirrer::running : Stirrer::resting, flow);
  carried_mmol_ += out.powder_mmol;
  if (flow > Millilitres{0.0}) {
    aquarium_.add(out.limewater, out.strength, out.powder_mmol);
  }
  aquarium_.advance(at, kStep);
  if (pump_until_ && at.mono >= *pump_until_) {
    end_pump(at.mono);
  }
  if (stirrer_until_ && at.mono >= *stirrer_until_) {
    stirrer_until_.reset();
  }
}

double Tank::turning_share(Instant at) const {
  // A run ends within a second: that second counts in part.
  const Instant until = std::max(pump_until_.value_or(turns_until_), turns_until_);
  return std::clamp(std::chrono::duration<double>(until - (at - kStep)) / kStep, 0.0, 1.0);
}

void Tank::end_pump(Instant at) {
  if (pump_until_) {
    turns_until_ = std::min(*pump_until_, at) + overrun_;
  }
  pump_until_.reset();
}

double Tank::sample_ph() { return aquarium_.ph().count() + settings_.ph_noise * normal_(random_); }

double Tank::sample_temperature() {
  return aquarium_.temperature().count() + settings_.temperature_noise * normal_(random_);
}

void Tank::run_for(Part part, Duration duration) {
  (part == Part::pump ? pump_until_ : stirrer_until_) = now_.mono + duration;
}

void Tank::off(Part part) {
  if (part == Part::pump) {
    end_pump(now_.mono);
  } else {
    stirrer_until_.reset();
  }
}

ports::OutletState Tank::state(Part part) const {
  const auto& until = part == Part::pump ? pump_until_ : stirrer_until_;
  return until ? ports::OutletState::on : ports::OutletState::off;
}

}  // namespace limegate::simulator
