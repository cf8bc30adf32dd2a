#include "chemistry/seawater_constants.h"

#include <cmath>
#include <numbers>

#include "chemistry/density.h"

namespace limegate::chemistry {
namespace {

constexpr double kLn10 = std::numbers::ln10;

/// Salinity and temperature in the shapes that the formulas share.
struct Terms {
  double s, root_s;  // practical salinity and its square root
  double t, ln_t;    // kelvin
  double ionic;      // ionic strength, mol/kg of water (Dickson, Sabine & Christian 2007)
  double root_ionic;
  double per_solution;  // mol/kg of water to mol/kg of solution
};

Terms terms_for(double s, double celsius) {
  const double t = celsius + 273.15;
  const double ionic = 19.924 * s / (1000.0 - 1.005 * s);
  return {s, std::sqrt(s), t, std::log(t), ionic, std::sqrt(ionic), 1.0 - 0.001005 * s};
}

// Dickson 1990b, J. Chem. Thermodynamics 22, 113: HSO4-, free scale.
double bisulfate(const Terms& x) {
  const double ln_k = -4276.1 / x.t + 141.328 - 23.093 * x.ln_t +
                      (-13856.0 / x.t + 324.57 - 47.986 * x.ln_t) * x.root_ionic +
                      (35474.0 / x.t - 771.54 + 114.723 * x.ln_t) * x.ionic -
                      2698.0 / x.t * x.ionic * x.root_ionic + 1776.0 / x.t * x.ionic * x.ionic;
  return std::exp(ln_k) * x.per_solution;
}

// Dickson & Riley 1979, Marine Chemistry 7, 89: HF, free scale.
double hydrogen_fluoride(const Terms& x) {
  return std::exp(1590.2 / x.t - 12.641 + 1.525 * x.root_ionic) * x.per_solution;
}

// Dickson 1990a, Deep-Sea Research 37, 755: B(OH)3, total scale.
double boric_acid(const Terms& x) {
  const double s15 = x.s * x.root_s;
  return std::exp(
      (-8966.9 - 2890.53 * x.root_s - 77.942 * x.s + 1.728 * s15 - 0.0996 * x.s * x.s) / x.t +
      148.0248 + 137.1942 * x.root_s + 1.62142 * x.s +
      (-24.4344 - 25.085 * x.root_s - 0.2474 * x.s) * x.ln_t + 0.053105 * x.root_s * x.t);
}

// Millero 1995, Geochimica et Cosmochimica Acta 59, 661: water, seawater scale.
double water(const Terms& x) {
  return std::exp(148.9802 - 13847.26 / x.t - 23.6521 * x.ln_t +
                  (-5.977 + 118.67 / x.t + 1.0495 * x.ln_t) * x.root_s - 0.01615 * x.s);
}

// Lueker, Dickson & Keeling 2000, Marine Chemistry 70, 105: carbonic acid, total scale.
double carbonic_first(const Terms& x) {
  return std::exp(-kLn10 * (3633.86 / x.t - 61.2172 + 9.6777 * x.ln_t - 0.011555 * x.s +
                            0.0001152 * x.s * x.s));
}
double carbonic_second(const Terms& x) {
  return std::exp(
      -kLn10 * (471.78 / x.t + 25.9290 - 3.16967 * x.ln_t - 0.01781 * x.s + 0.0001122 * x.s * x.s));
}

// Weiss 1974, Marine Chemistry 2, 203: solubility of CO2.
double carbon_dioxide(const Terms& x) {
  const double t100 = x.t / 100.0;
  return std::exp(-60.2409 + 93.4517 / t100 + 23.3585 * (x.ln_t - 2.0 * kLn10) +
                  x.s * (0.023517 + t100 * (-0.023656 + t100 * 0.0047036)));
}

// Weiss 1974: virial coefficients in cm3/mol; 1.01325 bar; gas constant (CODATA 2018) in bar cm3.
double fugacity_share(const Terms& x) {
  const double b = -1636.75 + x.t * (12.0408 + x.t * (-0.0327957 + x.t * 3.16528e-5));
  const double delta = 57.7 - 0.118 * x.t;
  return std::exp((b + 2.0 * delta) * 1.01325 / (83.14462618 * x.t));
}

// Mucci 1983, American Journal of Science 283, 780.
double aragonite(const Terms& x) {
  return std::exp(kLn10 * (-171.945 - 0.077993 * x.t + 2903.293 / x.t + 71.595 * x.ln_t / kLn10 +
                           (-0.068393 + 0.0017276 * x.t + 88.135 / x.t) * x.root_s - 0.10018 * x.s +
                           0.0059415 * x.s * x.root_s));
}
double calcite(const Terms& x) {
  return std::exp(kLn10 * (-171.9065 - 0.077993 * x.t + 2839.319 / x.t + 71.595 * x.ln_t / kLn10 +
                           (-0.77712 + 0.0028426 * x.t + 178.34 / x.t) * x.root_s - 0.07711 * x.s +
                           0.0041249 * x.s * x.root_s));
}

// Takahashi et al. 1982, GEOSECS Pacific Expedition 3, 80: the apparent activity coefficient of H+.
double hydrogen_activity(const Terms& x) {
  return 1.2948 - 0.002036 * x.t + (0.0004607 - 0.000001475 * x.t) * x.s * x.s;
}

double boron_per_salinity(BoronSource source) {
  return (source == BoronSource::lee_2010 ? 0.0004326 : 0.0004157) / 35.0;
}

}  // namespace

Result<SeawaterConstants> seawater_constants(Salinity salinity, Celsius temperature,
                                             BoronSource boron) {
  if (!holds(kSalinityRange, salinity.count())) {
    return outside(kSalinityRange, salinity.count());
  }
  if (!holds(kTemperatureRange, temperature.count())) {
    return outside(kTemperatureRange, temperature.count());
  }
  const Terms x = terms_for(salinity.count(), temperature.count());
  const double chlorinity = x.s / 1.80655;

  SeawaterConstants c{};
  c.salinity = salinity;
  c.temperature = temperature;
  c.boron = boron_per_salinity(boron) * x.s;
  c.sulfate = 0.14 / 96.062 * chlorinity;
  c.fluoride = 0.000067 / 18.998 * chlorinity;
  c.calcium = MicromolPerKg{0.02128 / 40.087 * chlorinity * 1e6};
  c.k0 = carbon_dioxide(x);
  c.fugacity_share = fugacity_share(x);
  c.k1 = carbonic_first(x);
  c.k2 = carbonic_second(x);
  c.kb = boric_acid(x);
  c.ks = bisulfate(x);
  c.kf = hydrogen_fluoride(x);
  c.ksp_aragonite = aragonite(x);
  c.ksp_calcite = calcite(x);

  c.total_over_free = 1.0 + c.sulfate / c.ks;
  const double seawater_over_free = c.total_over_free + c.fluoride / c.kf;
  const double total_over_seawater = c.total_over_free / seawater_over_free;
  c.kw = water(x) * total_over_seawater;
  c.to_free = std::log10(c.total_over_free);
  c.to_seawater = std::log10(total_over_seawater);
  c.to_nbs = c.to_seawater - std::log10(hydrogen_activity(x));
  c.density = density_within_range(salinity, temperature);
  return c;
}

Result<SeawaterConstants> with_calcium(const SeawaterConstants& constants, MicromolPerKg calcium) {
  if (!holds(kCalciumRange, calcium.count())) {
    return outside(kCalciumRange, calcium.count());
  }
  SeawaterConstants measured = constants;
  measured.calcium = calcium;
  return measured;
}

}  // namespace limegate::chemistry
