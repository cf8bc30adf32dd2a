#include "chemistry/carbonate_system.h"

#include <cmath>
#include <numbers>

namespace limegate::chemistry {
namespace {

constexpr double kLn10 = std::numbers::ln10;
constexpr double kMicro = 1e-6;  // mol/kg in one umol/kg
constexpr int kStepsMax = 200;   // each halves the error or the bracket: far fewer are needed

/// Alkalinity that is not carbonate's, mol/kg, and its slope against ln [H+]. `h` is [H+] on the
/// total scale here and below, mol/kg.
struct Share {
  double amount;
  double slope;
};

Share other_alkalinity(const SeawaterConstants& c, double h) {
  const double ks = c.ks * c.total_over_free;  // bisulfate and fluoride against total-scale [H+]
  const double kf = c.kf * c.total_over_free;
  const double borate = c.boron * c.kb / (c.kb + h);
  const double hydroxide = c.kw / h;
  const double free = h / c.total_over_free;
  const double bisulfate = c.sulfate * h / (ks + h);
  const double fluoride = c.fluoride * h / (kf + h);
  return {borate + hydroxide - free - bisulfate - fluoride, -borate * h / (c.kb + h) - hydroxide -
                                                                free - bisulfate * ks / (ks + h) -
                                                                fluoride * kf / (kf + h)};
}

/// Carbonate alkalinity per mol of dissolved carbon, and its slope against ln [H+].
Share carbonate_share(const SeawaterConstants& c, double h) {
  const double single = c.k1 * h;
  const double twice = c.k1 * c.k2;
  const double denominator = h * h + single + twice;
  return {(single + 2.0 * twice) / denominator,
          -h * (single * h + 4.0 * twice * h + twice * c.k1) / (denominator * denominator)};
}

CarbonateState state_at(const SeawaterConstants& c, double carbon, double h) {
  const double denominator = h * h + c.k1 * h + c.k1 * c.k2;
  const double co2 = carbon * h * h / denominator;
  const double carbonate = carbon * c.k1 * c.k2 / denominator;
  const double fugacity = co2 / c.k0;
  const double product = carbonate * c.calcium.count() * kMicro;
  const double slope = other_alkalinity(c, h).slope + carbon * carbonate_share(c, h).slope;

  CarbonateState state{};
  state.dissolved_carbon = MicromolPerKg{carbon / kMicro};
  state.co2 = MicromolPerKg{co2 / kMicro};
  state.bicarbonate = MicromolPerKg{carbon * c.k1 * h / denominator / kMicro};
  state.carbonate = MicromolPerKg{carbonate / kMicro};
  state.borate = MicromolPerKg{c.boron * c.kb / (c.kb + h) / kMicro};
  state.hydroxide = MicromolPerKg{c.kw / h / kMicro};
  state.calcium = c.calcium;
  state.co2_fugacity = Microatmospheres{fugacity / kMicro};
  state.co2_pressure = Microatmospheres{fugacity / c.fugacity_share / kMicro};
  state.omega_aragonite = product / c.ksp_aragonite;
  state.omega_calcite = product / c.ksp_calcite;
  state.rise_per_micromol = PhTotalChange{-kMicro / (kLn10 * slope)};
  return state;
}

/// What was given is handed back bit by bit, not by way of mol/kg.
void set_given(CarbonateState& state, const SeawaterConstants& c, MicromolPerKg alkalinity,
               PhTotal ph) {
  state.alkalinity = alkalinity;
  state.ph_total = ph;
  state.ph_free = to_free(c, ph);
  state.ph_seawater = to_seawater(c, ph);
  state.ph_nbs = to_nbs(c, ph);
}

/// A first guess: the carbonate quadratic alone, with borate as it is near pH 8.2.
double first_guess(const SeawaterConstants& c, double alkalinity, double carbon) {
  const double carbonate_alkalinity = alkalinity - c.boron * c.kb / (c.kb + 6e-9);
  const double ratio = carbon / carbonate_alkalinity;
  const double linear = ratio - 1.0;
  const double discriminant = linear * linear - 4.0 * c.k2 / c.k1 * (1.0 - 2.0 * ratio);
  return 0.5 * c.k1 * (linear + std::sqrt(discriminant));
}

/// [H+] at which the alkalinity comes out right. Alkalinity falls steadily with [H+], and all but
/// water's own share of it lies between two limits, which gives the bracket. Newton's step in
/// ln [H+] is taken where it stays inside and makes progress; otherwise the bracket is halved.
double hydrogen_for(const SeawaterConstants& c, double alkalinity, double carbon) {
  const auto water_alone = [&](double rest) {  // kw/h - h/F = rest, without loss of digits
    const double quarter = c.kw / c.total_over_free;
    const double root = std::sqrt(rest * rest + 4.0 * quarter);
    return rest > 0.0 ? 2.0 * c.kw / (rest + root) : 0.5 * c.total_over_free * (root - rest);
  };
  double low = water_alone(alkalinity + c.sulfate + c.fluoride);
  double high = water_alone(alkalinity - 2.0 * carbon - c.boron);
  const auto halfway = [&] { return std::sqrt(low * high); };

  double h = first_guess(c, alkalinity, carbon);
  if (!(h > low && h < high)) {  // also where the guess was not a number
    h = halfway();
  }
  double error_before = alkalinity + c.sulfate + carbon;
  for (int step = 0; step < kStepsMax; ++step) {
    const Share other = other_alkalinity(c, h);
    const Share share = carbonate_share(c, h);
    const double error = other.amount + carbon * share.amount - alkalinity;
    (error > 0.0 ? low : high) = h;
    const double move = -error / (other.slope + carbon * share.slope);
    if (std::fabs(move) < 1e-9) {  // what is left after it is its square
      return h * (1.0 + move);
    }
    const double next = h * std::exp(move);
    const bool progress = std::fabs(error) < 0.5 * error_before;
    error_before = std::fabs(error);
    h = progress && next > low && next < high ? next : halfway();
  }
  return h;
}

}  // namespace

Result<CarbonateState> solve_from_ph(const SeawaterConstants& constants, MicromolPerKg alkalinity,
                                     PhTotal ph) {
  if (!holds(kAlkalinityRange, alkalinity.count())) {
    return outside(kAlkalinityRange, alkalinity.count());
  }
  if (!holds(kPhTotalRange, ph.count())) {
    return outside(kPhTotalRange, ph.count());
  }
  const double h = std::exp(-kLn10 * ph.count());
  const double other = other_alkalinity(constants, h).amount;
  const double total = alkalinity.count() * kMicro;
  if (!(total > other)) {
    return outside({"alkalinity at this pH", "umol/kg", other / kMicro, kAlkalinityRange.highest,
                    "borate and water alone hold as much: no carbon would be left (Dickson 1981)"},
                   alkalinity.count());
  }
  const double carbon = (total - other) / carbonate_share(constants, h).amount;
  CarbonateState state = state_at(constants, carbon, h);
  set_given(state, constants, alkalinity, ph);
  return state;
}

Result<CarbonateState> solve_from_carbon(const SeawaterConstants& constants,
                                         MicromolPerKg alkalinity, MicromolPerKg dissolved_carbon) {
  if (!holds(kAlkalinityRange, alkalinity.count())) {
    return outside(kAlkalinityRange, alkalinity.count());
  }
  if (!holds(kDissolvedCarbonRange, dissolved_carbon.count())) {
    return outside(kDissolvedCarbonRange, dissolved_carbon.count());
  }
  const double total = alkalinity.count() * kMicro;
  const double carbon = dissolved_carbon.count() * kMicro;
  const double h = hydrogen_for(constants, total, carbon);
  const PhTotal ph{-std::log10(h)};
  if (!holds(kPhTotalRange, ph.count())) {
    return outside(kPhTotalRange, ph.count());
  }
  CarbonateState state = state_at(constants, carbon, h);
  state.dissolved_carbon = dissolved_carbon;
  set_given(state, constants, alkalinity, ph);
  return state;
}

}  // namespace limegate::chemistry
