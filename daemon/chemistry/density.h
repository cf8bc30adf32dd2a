#pragma once

#include "chemistry/valid_range.h"
#include "units/quantities.h"

namespace limegate::chemistry {

inline constexpr ValidRange kDensitySalinityRange{
    "salinity", "", 0.0, 43.0, "EOS-80 (UNESCO 1981): 0 to 42; one unit more for Lueker's 43"};
inline constexpr ValidRange kDensityTemperatureRange{"temperature", "C", -2.0, 40.0,
                                                     "EOS-80 (UNESCO 1981)"};

/// Density of seawater at one atmosphere; salinity 0 gives pure water.
/// Units:  practical salinity, degC (ITS-90) -> kg/L.   Valid: salinity 0..43, -2..40 degC.
/// Errors: ChemistryFault outside of that.   Thread: any.
/// Source: Millero & Poisson 1981 (EOS-80, UNESCO Technical Papers in Marine Science 36); within
///         0.01 kg/m3 of TEOS-10 where tests compare the two.
[[nodiscard]] Result<KgPerLitre> seawater_density(Salinity salinity, Celsius temperature);

/// Specific gravity as a hydrometer or refractometer for aquaria shows it: the density of the
/// seawater over that of pure water, both at `temperature`.
/// Units, valid range, errors, source, thread: as seawater_density().
[[nodiscard]] Result<double> specific_gravity(Salinity salinity, Celsius temperature);

/// The inverse of specific_gravity(): salinity of water whose specific gravity was measured.
/// Errors: also a ChemistryFault where no salinity of 0..43 has that gravity.   Thread: any.
[[nodiscard]] Result<Salinity> salinity_from_gravity(double gravity, Celsius temperature);

/// The same density where the caller has already checked both ranges.
[[nodiscard]] KgPerLitre density_within_range(Salinity salinity, Celsius temperature);

}  // namespace limegate::chemistry
