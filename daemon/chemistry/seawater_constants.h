#pragma once

#include "chemistry/valid_range.h"
#include "units/quantities.h"

namespace limegate::chemistry {

/// Whose measurement of the boron in seawater to use.
enum class BoronSource {
  uppstroem_1974,  ///< 0.0004157 mol/kg at salinity 35; goes with the constants here
  lee_2010,        ///< 0.0004326 mol/kg at salinity 35 (Lee et al. 2010)
};

/// Everything that depends on salinity and temperature alone, so that it is computed once and kept
/// by the caller for as long as both stay the same. Plain numbers: this is chemistry's inner maths.
/// Units: mol/kg of solution; k0 in mol/kg/atm; solubility products in (mol/kg)^2.
struct SeawaterConstants {
  Salinity salinity;
  Celsius temperature;
  double k0;              ///< Weiss 1974: solubility of CO2
  double fugacity_share;  ///< Weiss 1974: fugacity over partial pressure of CO2 at 1 atm
  double k1, k2;          ///< Lueker et al. 2000: carbonic acid, total scale
  double kb;              ///< Dickson 1990a: boric acid, total scale
  double kw;              ///< Millero 1995: water; seawater scale, converted to the total scale
  double ks;              ///< Dickson 1990b: bisulfate, free scale
  double kf;              ///< Dickson & Riley 1979: hydrogen fluoride, free scale
  double ksp_aragonite, ksp_calcite;  ///< Mucci 1983
  double boron, sulfate, fluoride;    ///< totals; BoronSource, Morris & Riley 1966, Riley 1965
  MicromolPerKg calcium;              ///< Riley & Tongudai 1967, or measured: with_calcium()
  double total_over_free;             ///< [H+] on the total scale over [H+] on the free scale
  /// What to add to a pH on the total scale to have it on the other scale. NBS: Takahashi et al.
  /// 1982, apparent activity coefficient; a real electrode's junction adds about +-0.05 to it.
  double to_free, to_seawater, to_nbs;
  KgPerLitre density;  ///< EOS-80
};

/// All constants of seawater at one atmosphere.
/// Valid:  salinity 19..43, 2..35 degC: Lueker et al. 2000, the narrowest but for two: solubility
///         products (Mucci 1983) start at 5 degC, density (EOS-80) ends at salinity 42.
/// Errors: ChemistryFault outside of that.   Thread: any.
/// Source: named at each field; forms as in Dickson, Sabine & Christian 2007, Guide to Best
///         Practices for Ocean CO2 Measurements, chapter 5. KW is converted exactly from the
///         seawater scale where the guide subtracts 0.015 from its logarithm.
[[nodiscard]] Result<SeawaterConstants> seawater_constants(
    Salinity salinity, Celsius temperature, BoronSource boron = BoronSource::uppstroem_1974);

/// The same water with its calcium measured instead of taken from salinity.
/// Valid:  2000..17000 umol/kg.   Errors: ChemistryFault outside.   Thread: any.
[[nodiscard]] Result<SeawaterConstants> with_calcium(const SeawaterConstants& constants,
                                                     MicromolPerKg calcium);

/// One pH on another scale, in the water these constants describe. NaN stays NaN.   Thread: any.
[[nodiscard]] constexpr PhFree to_free(const SeawaterConstants& c, PhTotal ph) {
  return PhFree{ph.count() + c.to_free};
}
[[nodiscard]] constexpr PhSeawater to_seawater(const SeawaterConstants& c, PhTotal ph) {
  return PhSeawater{ph.count() + c.to_seawater};
}
[[nodiscard]] constexpr Ph to_nbs(const SeawaterConstants& c, PhTotal ph) {
  return Ph{ph.count() + c.to_nbs};
}
[[nodiscard]] constexpr PhTotal to_total(const SeawaterConstants& c, PhFree ph) {
  return PhTotal{ph.count() - c.to_free};
}
[[nodiscard]] constexpr PhTotal to_total(const SeawaterConstants& c, PhSeawater ph) {
  return PhTotal{ph.count() - c.to_seawater};
}
[[nodiscard]] constexpr PhTotal to_total(const SeawaterConstants& c, Ph nbs) {
  return PhTotal{nbs.count() - c.to_nbs};
}

}  // namespace limegate::chemistry
