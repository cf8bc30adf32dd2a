#include "simulator/tank.h"

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

void Tank::advance(Moment now) {
  while (now_.mono + kStep <= now.mono) {
    now_.mono += kStep;
    now_.wall = now.wall - (now.mono - now_.mono);
    second(now_);
  }
}

void Tank::second(Moment at) {
  const double minutes = std::chrono::duration<double, std::ratio<60>>(kStep).count();
  const double rate = pump_until_
                          ? settings_.pump_rate.count() * settings_.pump_share * pump_factor_
                          : siphon_.count();
  const Millilitres flow{rate * minutes};
  delivered_ += flow;
  const Outflow out = reactor_.advance(kStep, stirs() ? Stirrer::running : Stirrer::resting, flow);
  if (flow > Millilitres{0.0}) {
    aquarium_.add(out.limewater, out.strength, out.powder_mmol);
  }
  aquarium_.advance(at, kStep);
  for (auto* until : {&pump_until_, &stirrer_until_}) {
    if (*until && at.mono >= **until) {
      until->reset();
    }
  }
}

double Tank::sample_ph() { return aquarium_.ph().count() + settings_.ph_noise * normal_(random_); }

double Tank::sample_temperature() {
  return aquarium_.temperature().count() + settings_.temperature_noise * normal_(random_);
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
