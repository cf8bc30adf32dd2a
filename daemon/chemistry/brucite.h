#pragma once

#include "chemistry/seawater_constants.h"
#include "units/quantities.h"

namespace limegate::chemistry {

/// Saturation of brucite, Mg(OH)2, in seawater: above 1 it can form, at a pH of about 9.4 (NBS) at
/// 25 degC and salinity 35.
/// Valid:  the water of `constants`, any pH; NaN stays NaN.   Errors: none.   Thread: any.
/// Source, all from memory: magnesium 0.05282 mol/kg at salinity 35 (Millero et al. 2008), its
///         activity coefficient 0.24 with its ion pairs, log K 16.84 of Mg(OH)2 + 2 H+ at 25 degC
///         and -114 kJ/mol (tables of aqueous geochemistry). Together good to 0.2 pH.
[[nodiscard]] double omega_brucite(const SeawaterConstants& constants, Ph ph);

}  // namespace limegate::chemistry
