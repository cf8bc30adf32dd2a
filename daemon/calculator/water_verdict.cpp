#include "calculator/water_verdict.h"

#include <vector>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "chemistry/keeper_units.h"

namespace limegate::calculator {
namespace {

/// Of a reef aquarium (common practice).
struct Usual {
  const char* what;
  double value, low, high;
  const char* unit;
  int decimals;
};

/// Above it alkalinity is lost to precipitation in a runaway (Moras et al. 2022, Biogeosciences 19,
/// 3537).
constexpr double kOmegaRunaway = 7.0;
/// What the sea and aquaria of its animals have (common practice).
constexpr double kSalinityLow = 30.0, kSalinityHigh = 40.0;

/// Whether it is above the usual range, below it, or within.
int side_of(const Usual& one) { return one.value < one.low ? -1 : one.value > one.high ? 1 : 0; }

std::string advice_on(const Usual& alkalinity, const Usual& calcium, const Usual& ph,
                      double omega) {
  std::string advice;
  const bool gives_none = omega > kOmegaRunaway || side_of(ph) > 0;
  if (omega > kOmegaRunaway) {
    advice += " Omega aragonite is above 7: limewater would fall out as chalk. Give none.";
  } else if (side_of(ph) > 0) {
    advice += " Limewater raises pH: give none until it has come down.";
  }
  if (side_of(alkalinity) < 0 || side_of(calcium) < 0) {
    advice += " Limewater maintains and does not correct: raise what is low by other means first.";
  } else if (side_of(alkalinity) > 0 && !gives_none) {
    advice += " The tank has more than it uses: give less limewater.";
  }
  return advice;
}

}  // namespace

std::string verdict_on(const SolvedWater& water) {
  const auto& constants = water.constants;
  const double salinity = constants.salinity.count();
  if (salinity < kSalinityLow || salinity > kSalinityHigh) {
    return fmt::format(
        "Salinity {:.1f} is no reef's seawater (30 to 40): the figures are of seawater thinned or "
        "thickened to it, and nothing is said of animals.",
        salinity);
  }
  const double dkh =
      chemistry::to_dkh(chemistry::to_meq_per_litre(water.state.alkalinity, constants.density))
          .count();
  const Usual alkalinity{"alkalinity", dkh, 7.0, 11.0, " dKH", 2};
  const Usual calcium{
      "calcium", chemistry::to_mg_per_litre(water.state.calcium, constants.density).count(),
      380.0,     460.0,
      " mg/L",   0};
  const Usual ph{"pH (NBS)", water.state.ph_nbs.count(), 7.8, 8.5, "", 2};
  std::vector<std::string> beside;
  for (const Usual& one :
       {alkalinity, calcium, ph, Usual{"salinity", salinity, 33.0, 37.0, "", 1},
        Usual{"temperature", constants.temperature.count(), 23.0, 28.0, " C", 1}}) {
    if (const int side = side_of(one); side != 0) {
      beside.push_back(fmt::format("{} {:.{}f}{} is {} (usual {:g} to {:g})", one.what, one.value,
                                   one.decimals, one.unit, side < 0 ? "low" : "high", one.low,
                                   one.high));
    }
  }
  const std::string said = beside.empty()
                               ? "As usual in a reef aquarium."
                               : fmt::format("Beside the usual: {}.", fmt::join(beside, "; "));
  return said + advice_on(alkalinity, calcium, ph, water.state.omega_aragonite);
}

}  // namespace limegate::calculator
