#include "simulator/reactor.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdlib>
#include <numbers>
#include <numeric>

#include "chemistry/limewater.h"

namespace limegate::simulator {
namespace {

constexpr double kGramsPerMol = 74.093;  ///< Ca(OH)2 (IUPAC)
/// Diameters of the powder and their shares of its mass: fine technical hydrate, our own scenario.
constexpr std::array<double, 5> kDiametersUm{2.0, 5.0, 10.0, 20.0, 50.0};
constexpr std::array<double, 5> kShares{0.01, 0.09, 0.25, 0.40, 0.25};
/// While it is stirred up to this share of the bed is afloat.
constexpr double kStirredUp = 0.5;
/// Time constants of dissolving toward saturation, in seconds (our own estimate).
constexpr double kStirred = 180.0;
constexpr double kStill = 3600.0;
/// The outlet draws from this depth.
constexpr double kOutletMm = 0.5;

}  // namespace

MillimetresPerHour sinking_speed(double diameter_um) {
  constexpr double gravity = 9.81;
  constexpr double excess_density = 2211.0 - 997.0;
  constexpr double viscosity = 0.89e-3;
  const double metres = diameter_um * 1e-6;
  return MillimetresPerHour{excess_density * gravity * metres * metres / 18.0 / viscosity * 3.6e6};
}

Reactor::Reactor(const ReactorSettings& settings)
    : settings_(settings),
      area_mm2_(std::numbers::pi / 4.0 * settings.bore.count() * settings.bore.count()),
      bed_g_(settings.powder_g) {
  const auto saturated = chemistry::saturated_strength(settings.temperature);
  if (!saturated) {
    std::abort();  // the config was checked
  }
  saturated_ = saturated->count();
  dissolved_mmol_.assign(static_cast<std::size_t>(settings.layers), saturated_ * layer_litres());
}

double Reactor::litres() const { return area_mm2_ * settings_.height.count() * 1e-6; }

MmolPerKg Reactor::strength() const { return MmolPerKg{dissolved_mmol_.back() / layer_litres()}; }

double Reactor::suspended_g() const {
  double sum = 0;
  for (const Size& size : sizes_) {
    sum += size.suspended_g;
  }
  return sum;
}

double Reactor::powder_g() const { return bed_g_ + suspended_g(); }

void Reactor::set_powder(double grams) {
  const double afloat = suspended_g();
  if (grams < afloat) {
    for (Size& size : sizes_) {
      size.suspended_g *= grams / afloat;
    }
  }
  bed_g_ = std::max(0.0, grams - suspended_g());
}

void Reactor::stir() {
  const double powder = powder_g();
  for (std::size_t i = 0; i < kSizes; ++i) {
    sizes_[i] = {powder * kStirredUp * kShares[i], 0.0};
  }
  bed_g_ = powder * (1.0 - kStirredUp);
}

void Reactor::settle(double hours, double upflow_mm_h) {
  for (std::size_t i = 0; i < kSizes; ++i) {
    Size& size = sizes_[i];
    if (size.suspended_g <= 0.0) {
      continue;
    }
    const double down = (sinking_speed(kDiametersUm[i]).count() - upflow_mm_h) * hours;
    size.cleared_mm = std::max(size.cleared_mm + down, 0.0);
    if (size.cleared_mm >= settings_.height.count()) {
      bed_g_ += size.suspended_g;
      size.suspended_g = 0.0;
    }
  }
}

void Reactor::dissolve(double seconds, bool stirred) {
  if (stirred) {
    const double all = std::accumulate(dissolved_mmol_.begin(), dissolved_mmol_.end(), 0.0);
    std::fill(dissolved_mmol_.begin(), dissolved_mmol_.end(), all / settings_.layers);
  }
  // At rest the powder gives as much to the lowest layer as it would to all of the water.
  const double takes = stirred ? kStirred : kStill / settings_.layers;
  const double missing = saturated_ * layer_litres() - dissolved_mmol_.front();
  const double layers = stirred ? settings_.layers : 1;
  const double wanted = missing * (1.0 - std::exp(-seconds / takes)) * layers;
  const double taken = std::clamp(wanted, 0.0, bed_g_ / kGramsPerMol * 1000.0);
  for (std::size_t layer = 0; layer < static_cast<std::size_t>(layers); ++layer) {
    dissolved_mmol_[layer] += taken / layers;
  }
  bed_g_ -= taken * kGramsPerMol / 1000.0;
}

Outflow Reactor::advance(Duration dt, Stirrer stirrer, Millilitres inflow) {
  const double seconds = std::chrono::duration<double>(dt).count();
  const bool stirred = stirrer == Stirrer::running;
  const double flowed = inflow.count() / 1000.0;  // litres, which weigh a kilogram
  const double upflow = inflow.count() * 1000.0 / area_mm2_ / (seconds / 3600.0);
  if (stirred) {
    stir();
  } else {
    settle(seconds / 3600.0, upflow);
  }
  dissolve(seconds, stirred);
  // No more runs out in a second than there is in the uppermost layer.
  const double strength = dissolved_mmol_.back() / std::max(layer_litres(), flowed);
  Outflow out{Kilograms{flowed}, MmolPerKg{strength * (1.0 - settings_.spoiled.count() / 100.0)},
              0.0};
  const double risen = std::min(flowed / layer_litres(), 1.0);
  for (std::size_t layer = dissolved_mmol_.size() - 1; risen > 0.0 && layer > 0; --layer) {
    dissolved_mmol_[layer] += (dissolved_mmol_[layer - 1] - dissolved_mmol_[layer]) * risen;
  }
  dissolved_mmol_.front() -= dissolved_mmol_.front() * risen;
  const double share = std::min(flowed / litres(), 1.0);
  for (Size& size : sizes_) {
    if (size.cleared_mm <= kOutletMm && size.suspended_g > 0.0) {
      const double carried = size.suspended_g * share;
      size.suspended_g -= carried;
      out.powder_mmol += carried / kGramsPerMol * 1000.0;
    }
  }
  return out;
}

}  // namespace limegate::simulator
