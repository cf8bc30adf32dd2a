#pragma once

#include "chemistry/valid_range.h"
#include "units/quantities.h"

namespace limegate::chemistry {

inline constexpr ValidRange kPracticalSalinityRange{"salinity", "", 2.0, 42.0,
                                                    "PSS-78 (UNESCO 1981)"};
inline constexpr ValidRange kConductivityTemperatureRange{"temperature", "C", -2.0, 35.0,
                                                          "PSS-78 (UNESCO 1981)"};

/// Practical salinity of seawater at one atmosphere from its conductivity.
/// Units:  mS/cm as it is at `temperature`, not compensated to another; degC (ITS-90). A meter that
///         compensates to 25 degC is entered with 25 degC.
/// Valid:  -2..35 degC, and a conductivity that gives a salinity of 2..42.
/// Errors: ChemistryFault outside of that.   Thread: any.
/// Source: PSS-78, UNESCO Technical Papers in Marine Science 37 (1981); C(35, 15, 0) = 42.914
/// mS/cm.
[[nodiscard]] Result<Salinity> salinity_from_conductivity(MillisiemensPerCm conductivity,
                                                          Celsius temperature);

/// The inverse of salinity_from_conductivity(); same units, ranges, errors and source.
[[nodiscard]] Result<MillisiemensPerCm> conductivity_from_salinity(Salinity salinity,
                                                                   Celsius temperature);

}  // namespace limegate::chemistry
