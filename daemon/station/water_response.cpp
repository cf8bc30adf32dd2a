#include "station/water_response.h"

#include <algorithm>
#include <cmath>

#include "chemistry/dose.h"
#include "chemistry/keeper_units.h"

namespace limegate::station {
namespace {

/// Limewater is strongest in the cold: the coolest room that a reactor is likely to stand in.
constexpr Celsius kCoolRoom{15.0};
/// Of an ordinary reef, where none was tested (common practice).
constexpr Dkh kOrdinaryAlkalinity{8.0};
/// Smaller changes move the response by less than a hundredth of it.
constexpr PhChange kPhStep{0.01};
constexpr CelsiusChange kTemperatureStep{0.5};

/// A tank of this water, and the strongest limewater that may come to it.
struct Mixing {
  chemistry::Tank tank;
  chemistry::Limewater limewater;
};

std::optional<Mixing> mixing_of(const SiteWater& site, Ph ph, Celsius temperature) {
  const auto constants = chemistry::seawater_constants(site.salinity, temperature);
  const auto limewater = chemistry::saturated_limewater(kCoolRoom);
  if (!constants || !limewater) {
    return std::nullopt;
  }
  const Dkh alkalinity = site.alkalinity.value_or(kOrdinaryAlkalinity);
  const auto water = chemistry::solve_from_ph(
      *constants,
      chemistry::to_micromol_per_kg(chemistry::to_meq_per_litre(alkalinity), constants->density),
      chemistry::to_total(*constants, ph));
  if (!water) {
    return std::nullopt;
  }
  const auto tank = chemistry::tank_of(site.volume, *constants, *water);
  return tank ? std::optional{Mixing{*tank, *limewater}} : std::nullopt;
}

}  // namespace

std::optional<PhChange> rise_per_millilitre(Litres volume, Dkh alkalinity, Salinity salinity, Ph ph,
                                            Celsius temperature) {
  const auto mixing = mixing_of({volume, alkalinity, salinity}, ph, temperature);
  if (!mixing) {
    return std::nullopt;
  }
  const auto rise = chemistry::rise_per_millilitre(mixing->tank, mixing->limewater);
  return rise ? std::optional{PhChange{rise->count()}} : std::nullopt;
}

std::optional<Ph> ph_after(const SiteWater& site, Ph ph, Celsius temperature, Millilitres dose) {
  const auto mixing = mixing_of(site, ph, temperature);
  if (!mixing) {
    return std::nullopt;
  }
  const auto effect = chemistry::effect_of(mixing->tank, mixing->limewater, dose);
  return effect ? std::optional{effect->after.ph_nbs} : std::nullopt;
}

WaterResponse::WaterResponse(const SiteWater& site)
    : site_(site), per_millilitre_(kPhPerMlPerL / site.volume.count()) {}

void WaterResponse::take(Ph ph, Celsius temperature) {
  if (at_ph_ && std::abs((ph - *at_ph_).count()) < kPhStep.count() &&
      std::abs((temperature - at_temperature_).count()) < kTemperatureStep.count()) {
    return;
  }
  at_ph_ = ph;
  at_temperature_ = temperature;
  work_out();
}

void WaterResponse::take(const std::optional<Tested>& tested) {
  if (tested != tested_) {
    tested_ = tested;
    work_out();
  }
}

void WaterResponse::work_out() {
  const PhChange sensitive{kPhPerMlPerL / site_.volume.count()};
  const Dkh alkalinity = tested_ ? tested_->level : site_.alkalinity.value_or(kOrdinaryAlkalinity);
  const auto rise = at_ph_ ? rise_per_millilitre(site_.volume, alkalinity, site_.salinity, *at_ph_,
                                                 at_temperature_)
                           : std::nullopt;
  per_millilitre_ = rise.value_or(sensitive);
}

std::optional<PhChange> WaterResponse::tested_per_millilitre() const {
  if (tested_ && tested_->counts == Tested::Counts::no) {
    return std::max(per_millilitre_, PhChange{kPhPerMlPerL / site_.volume.count()});
  }
  return tested_ || site_.alkalinity ? std::optional{per_millilitre_} : std::nullopt;
}

}  // namespace limegate::station
