#pragma once

#include "chemistry/seawater_constants.h"
#include "chemistry/valid_range.h"
#include "units/quantities.h"

namespace limegate::chemistry {

/// The carbonate system of one water, solved. Concentrations per kilogram of solution.
struct CarbonateState {
  PhTotal ph_total;
  PhFree ph_free;
  PhSeawater ph_seawater;
  Ph ph_nbs;
  MicromolPerKg alkalinity;        ///< total alkalinity (Dickson 1981); no phosphate or silicate
  MicromolPerKg dissolved_carbon;  ///< DIC: CO2 + HCO3- + CO3--
  MicromolPerKg co2;               ///< dissolved CO2 and carbonic acid together
  MicromolPerKg bicarbonate;
  MicromolPerKg carbonate;
  MicromolPerKg borate;
  MicromolPerKg hydroxide;
  MicromolPerKg calcium;
  Microatmospheres co2_pressure;  ///< partial pressure at which air would be in balance
  Microatmospheres co2_fugacity;  ///< what CO2 does as a real gas: 0.3 % less than the pressure
  double omega_aragonite;         ///< saturation: above 1 aragonite can form
  double omega_calcite;
  /// Buffer response: how far pH rises for one umol/kg of alkalinity more, DIC unchanged.
  PhTotalChange rise_per_micromol;
};

/// Solves the carbonate system from alkalinity and pH.
/// Valid:  alkalinity 100..10000 umol/kg, pH 6..10 on the total scale, and enough alkalinity at
///         that pH to leave some for carbonate.
/// Errors: ChemistryFault outside of that; NaN is an error.   Thread: any; allocates nothing.
/// Source: Dickson, Sabine & Christian 2007, chapter 2 and annexe.
[[nodiscard]] Result<CarbonateState> solve_from_ph(const SeawaterConstants& constants,
                                                   MicromolPerKg alkalinity, PhTotal ph);

/// Solves the carbonate system from alkalinity and dissolved inorganic carbon.
/// Valid:  alkalinity 100..10000, carbon 0..30000 umol/kg, and a resulting pH of 6..10 (total).
/// Errors: ChemistryFault outside of that; NaN is an error.   Thread: any; allocates nothing.
/// Source: the bracket is that of Munhoven 2013, Geosci. Model Dev. 6, 1367: it always converges.
[[nodiscard]] Result<CarbonateState> solve_from_carbon(const SeawaterConstants& constants,
                                                       MicromolPerKg alkalinity,
                                                       MicromolPerKg dissolved_carbon);

}  // namespace limegate::chemistry
