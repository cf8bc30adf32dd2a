#include "simulator/aquarium.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdlib>
#include <numbers>

#include "chemistry/keeper_units.h"
#include "simulator/day_wave.h"

namespace limegate::simulator {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

constexpr Duration kSolveEvery = 10s;
constexpr Duration kConstantsEvery = 10min;
constexpr double kHour = 3600.0;
/// Powder that was carried over dissolves in the tank within some ten minutes (our own estimate).
constexpr double kPowderDissolves = 600.0;
/// Moras et al. 2022, Biogeosciences 19, 3537: above about this alkalinity is lost without end.
constexpr double kRunawayOmega = 7.0;
/// How quickly on walls, pumps and heaters, in micromol/kg, hour and unit of omega: lost within
/// half a day (our own estimate).
constexpr double kRunawayRate = 10.0;
/// A reef calcifies about three times as quickly in the light as in the dark (common practice).
constexpr double kLightShare = 1.5;
constexpr double kDarkShare = 0.5;

}  // namespace

Aquarium::Aquarium(const AquariumSettings& settings)
    : settings_(settings), temperature_(settings.temperature) {
  // A config that was checked has water that can be solved; anything else is a bug.
  const auto constants = chemistry::seawater_constants(settings.salinity, settings.temperature);
  if (!constants) {
    std::abort();
  }
  constants_ = *constants;
  const auto alkalinity = chemistry::to_micromol_per_kg(
      chemistry::to_meq_per_litre(settings.alkalinity), constants_.density);
  const auto water = chemistry::solve_from_ph(constants_, alkalinity,
                                              chemistry::to_total(constants_, settings.ph));
  if (!water) {
    std::abort();
  }
  const MicromolPerKg calcium = chemistry::to_micromol_per_kg(settings.calcium, constants_.density);
  nominal_kg_ = settings.water.count() * constants_.density.count();
  const auto fill = [&](Box& box, double share) {
    box.kg = nominal_kg_ * share;
    box.amounts = {alkalinity.count() * box.kg, water->dissolved_carbon.count() * box.kg,
                   calcium.count() * box.kg, box.kg, settings.salinity.count() * box.kg};
  };
  fresh_ = {alkalinity.count(), water->dissolved_carbon.count(), calcium.count(), 1.0,
            settings.salinity.count()};
  fill(display_, 1.0 - settings.sump_share);
  fill(sump_, settings.sump_share);
  display_solved_ = sump_solved_ = *water;
  solve();
  const double demand =
      chemistry::to_micromol_per_kg(chemistry::to_meq_per_litre(settings.demand_per_day),
                                    constants_.density)
          .count();
  const double light = (settings.lights_off_h - settings.lights_on_h) / 24.0;
  const double mean_share = light * kLightShare + (1.0 - light) * kDarkShare;
  // Two of alkalinity go with each calcium carbonate; only the display calcifies.
  calcification_ = demand / 2.0 / 24.0 / mean_share / (1.0 - settings.sump_share) /
                   std::max(display_solved_.omega_aragonite - 1.0, 0.1);
}

void Aquarium::advance(Moment now, Duration dt) {
  const double seconds = in_seconds(dt);
  mix(seconds);
  dissolve(seconds);
  since_solved_ += dt;
  since_constants_ += dt;
  if (since_solved_ < kSolveEvery) {
    return;
  }
  const double passed = in_seconds(since_solved_);
  since_solved_ = Duration::zero();
  temperature_ =
      settings_.temperature + settings_.temperature_swing * 0.5 * day_wave(now.wall, 16.0);
  evaporate_and_top_off(now.wall, passed);
  change_water(now.wall, passed);
  live(now.wall, passed);
  solve();
}

void Aquarium::mix(double seconds) {
  const double flow = std::min({settings_.turnover_per_h / kHour * seconds * display_.kg,
                                display_.kg * 0.5, sump_.kg * 0.5});
  const auto exchange = [&](double& display, double& sump) {
    const double moved = flow * (display / display_.kg - sump / sump_.kg);
    display -= moved;
    sump += moved;
  };
  exchange(display_.amounts.alkalinity, sump_.amounts.alkalinity);
  exchange(display_.amounts.carbon, sump_.amounts.carbon);
  exchange(display_.amounts.calcium, sump_.amounts.calcium);
  exchange(display_.amounts.salt, sump_.amounts.salt);
}

void Aquarium::dissolve(double seconds) {
  if (undissolved_mmol_ <= 0.0) {
    return;
  }
  const double mmol = undissolved_mmol_ * (1.0 - std::exp(-seconds / kPowderDissolves));
  undissolved_mmol_ -= mmol;
  // The pumps carry the cloud everywhere.
  for (Box* box : {&display_, &sump_}) {
    const double share = mmol * 1000.0 * box->kg / (display_.kg + sump_.kg);
    box->amounts.alkalinity += 2.0 * share;
    box->amounts.calcium += share;
  }
}

void Aquarium::add(Kilograms limewater, MmolPerKg strength, double powder_mmol) {
  const double micromol = limewater.count() * strength.count() * 1000.0;
  sump_.kg += limewater.count();
  sump_.amounts.water = sump_.kg;
  sump_.amounts.alkalinity += 2.0 * micromol;
  sump_.amounts.calcium += micromol;
  undissolved_mmol_ += powder_mmol;
  came_.water += limewater.count();
  came_.alkalinity += 2.0 * (micromol + powder_mmol * 1000.0);
  came_.calcium += micromol + powder_mmol * 1000.0;
}

void Aquarium::add_sodium_carbonate(double mmol) {
  display_.amounts.alkalinity += 2000.0 * mmol;
  display_.amounts.carbon += 1000.0 * mmol;
  came_.alkalinity += 2000.0 * mmol;
  came_.carbon += 1000.0 * mmol;
}

void Aquarium::live(WallTime wall, double seconds) {
  const double hours = seconds / kHour;
  const double hour = hour_of_day(wall);
  const double length = settings_.lights_off_h - settings_.lights_on_h;
  const bool light = hour >= settings_.lights_on_h && hour < settings_.lights_off_h;
  const double room = settings_.room_co2_ppm + settings_.room_co2_swing_ppm * day_wave(wall, 21.0);
  const auto& water = display_solved_;
  // What the air would have dissolved, as CO2: Weiss 1974 (k0, fugacity).
  const double balance = constants_.k0 * room * constants_.fugacity_share;
  double carbon = settings_.gas_exchange_per_h * (balance - water.co2.count());
  carbon += settings_.respiration_per_h.count();
  if (light) {
    // Half a sine over the day's light that takes up what a day's respiration gave.
    const double peak =
        settings_.respiration_per_h.count() * 24.0 * std::numbers::pi / 2.0 / length;
    carbon -= peak * std::sin(std::numbers::pi * (hour - settings_.lights_on_h) / length);
  }
  const double omega = water.omega_aragonite;
  const double on_walls = kRunawayRate * std::max(omega - kRunawayOmega, 0.0);
  const double grown =
      calcification_ * (light ? kLightShare : kDarkShare) * std::max(omega - 1.0, 0.0) + on_walls;
  const double taken =
      std::min(grown * hours * display_.kg,
               most_at_once(std::min(display_.amounts.carbon, display_.amounts.calcium)));
  const double gas = carbon * hours * display_.kg + of_meals(wall, hours);
  display_.amounts.carbon += gas - taken;
  display_.amounts.alkalinity -= 2.0 * taken;
  display_.amounts.calcium -= taken;
  came_.carbon += gas - taken;
  came_.alkalinity -= 2.0 * taken;
  came_.calcium -= taken;
  calcified_mmol_ += taken / 1000.0;
  precipitate(hours, on_walls * hours * display_.kg);
}

chemistry::CarbonateState Aquarium::solved(const Box& box,
                                           const chemistry::CarbonateState& otherwise) const {
  const auto constants =
      chemistry::with_calcium(constants_, MicromolPerKg{box.amounts.calcium / box.kg});
  if (!constants) {
    return otherwise;
  }
  const auto state =
      chemistry::solve_from_carbon(*constants, MicromolPerKg{box.amounts.alkalinity / box.kg},
                                   MicromolPerKg{box.amounts.carbon / box.kg});
  return state ? *state : otherwise;
}

void Aquarium::solve() {
  if (since_constants_ >= kConstantsEvery) {
    since_constants_ = Duration::zero();
    if (const auto fresh = chemistry::seawater_constants(salinity(), temperature_)) {
      constants_ = *fresh;
    }
  }
  display_solved_ = solved(display_, display_solved_);
  sump_solved_ = solved(sump_, sump_solved_);
}

Ph Aquarium::ph() const {
  // Between two solutions the buffer's response serves: a dose must show at once.
  const double since = sump_.amounts.alkalinity / sump_.kg - sump_solved_.alkalinity.count();
  return sump_solved_.ph_nbs + PhChange{sump_solved_.rise_per_micromol.count() * since};
}

Salinity Aquarium::salinity() const {
  return Salinity{(display_.amounts.salt + sump_.amounts.salt) / (display_.kg + sump_.kg)};
}

Litres Aquarium::volume() const {
  return Litres{(display_.kg + sump_.kg) / constants_.density.count()};
}

Budget Aquarium::content() const {
  const double powder = undissolved_mmol_ * 1000.0;
  // Brucite and powder come back.
  return {
      display_.amounts.alkalinity + sump_.amounts.alkalinity + 2.0 * (powder + solids_.brucite()),
      display_.amounts.carbon + sump_.amounts.carbon,
      display_.amounts.calcium + sump_.amounts.calcium + powder, display_.kg + sump_.kg,
      display_.amounts.salt + sump_.amounts.salt};
}

}  // namespace limegate::simulator
