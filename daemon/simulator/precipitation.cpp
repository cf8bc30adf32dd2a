#include "simulator/precipitation.h"

#include <algorithm>
#include <cmath>

namespace limegate::simulator {
namespace {

/// Without any grain in it seawater keeps still up to about this. Source, from memory: Marion,
/// Millero & Feistel 2009, Ocean Science 5, 285.
constexpr double kByItself = 18.8;
/// Crystals that come of themselves, in micromol/kg, hour and unit of omega (our own estimate).
constexpr double kNuclei = 2.0;
/// Moras et al. 2022, Biogeosciences 19, 3537: on grains of lime from about here.
constexpr double kOnLime = 7.0;
/// Share of the lime afloat that aragonite covers in an hour (our own estimate).
constexpr double kCovered = 0.5;
/// Share of what forms on walls that comes off them (our own estimate).
constexpr double kComesOff = 0.1;
/// Aragonite grows by 40.6 (omega - 1)^1.7 micromol an hour and square metre at 25 degC. Source,
/// from memory: Burton & Walter 1987, Geology 15, 111. Of 1 m2/g (our own estimate): grains of some
/// micrometres.
constexpr double kGrowth = 40.6 * 1.0 * 100.0869e-6;
constexpr double kOrder = 1.7;
/// A white cloud is gone in about a day (common practice): taken up by filters and floor, per hour.
constexpr double kFiltered = 0.05;
/// Less of it, in micromol/kg, is as good as none.
constexpr double kNone = 1e-4;
/// pH 9.6 at 25 degC: brucite begins somewhere from 9.5 to 10 (common practice).
constexpr double kBruciteBegins = 3.0;
/// How quickly it forms, in micromol/kg, hour and unit of omega, and what share of it dissolves in
/// an hour (our own estimates: within half an hour).
constexpr double kBruciteForms = 50.0;
constexpr double kBruciteDissolves = 2.0;

}  // namespace

Precipitation::Formed Precipitation::pass(double hours, const Water& water) {
  Formed formed;
  const double omega = water.omega_aragonite;
  if (crystals_ > 0.0 || omega > kOnLime) {
    const double nuclei = kNuclei * std::max(omega - kByItself, 0.0) * hours * water.kg +
                          (omega > kOnLime ? kCovered * water.lime * hours : 0.0);
    const double grown = crystals_ * kGrowth * std::pow(std::max(omega - 1.0, 0.0), kOrder) * hours;
    formed.aragonite = std::min(nuclei + grown, water.available);
    crystals_ += formed.aragonite + kComesOff * water.walls - crystals_ * kFiltered * hours;
    crystals_ = crystals_ < kNone * water.kg ? 0.0 : crystals_;
  }
  if (brucite_ > 0.0 || water.omega_brucite > kBruciteBegins) {
    formed.brucite = water.omega_brucite > 1.0
                         ? kBruciteForms * (water.omega_brucite - 1.0) * hours * water.kg
                         : -brucite_ * std::min(kBruciteDissolves * hours, 1.0);
    if (water.omega_brucite <= 1.0 && brucite_ < kNone * water.kg) {
      formed.brucite = -brucite_;
    }
    brucite_ += formed.brucite;
  }
  return formed;
}

}  // namespace limegate::simulator
