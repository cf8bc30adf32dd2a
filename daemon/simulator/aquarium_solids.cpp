// What falls out of an aquarium's water and makes it cloudy.

#include <algorithm>

#include "chemistry/brucite.h"
#include "chemistry/keeper_units.h"
#include "simulator/aquarium.h"

namespace limegate::simulator {
namespace {

constexpr Ph kNoBrucite{9.0};             ///< far below where it begins: not worth the arithmetic
constexpr double kBruciteGrams = 58.320;  // g/mol (IUPAC)
constexpr double kLimeGrams = 74.093;     // g/mol (IUPAC)

}  // namespace

void Aquarium::precipitate(double hours, double on_walls) {
  const double all = display_.kg + sump_.kg;
  const auto share = [&](double a, double b) { return std::min(a / display_.kg, b / sump_.kg); };
  const double leanest = std::min(share(display_.amounts.carbon, sump_.amounts.carbon),
                                  share(display_.amounts.calcium, sump_.amounts.calcium));
  const chemistry::CarbonateState& water = display_solved_;
  const Precipitation::Formed formed = solids_.pass(
      hours, {all, water.omega_aragonite,
              water.ph_nbs < kNoBrucite ? 0.0 : chemistry::omega_brucite(constants_, water.ph_nbs),
              undissolved_mmol_ * 1000.0, on_walls, most_at_once(leanest) * all});
  if (formed.aragonite == 0.0 && formed.brucite == 0.0) {
    return;
  }
  // The pumps carry the cloud everywhere.
  for (Box* box : {&display_, &sump_}) {
    const double aragonite = formed.aragonite * box->kg / all;
    box->amounts.alkalinity -= 2.0 * (aragonite + formed.brucite * box->kg / all);
    box->amounts.carbon -= aragonite;
    box->amounts.calcium -= aragonite;
  }
  came_.alkalinity -= 2.0 * formed.aragonite;
  came_.carbon -= formed.aragonite;
  came_.calcium -= formed.aragonite;
  precipitated_mmol_ += formed.aragonite / 1000.0;
}

void Aquarium::stir_up_crystals(MgPerLitre aragonite) {
  solids_.add_crystals(aragonite.count() / chemistry::kCaco3Grams * 1000.0 * volume().count());
}

MgPerLitre Aquarium::cloud() const {
  return MgPerLitre{(solids_.crystals() * chemistry::kCaco3Grams +
                     solids_.brucite() * kBruciteGrams + undissolved_mmol_ * 1000.0 * kLimeGrams) /
                    1000.0 / volume().count()};
}

}  // namespace limegate::simulator
