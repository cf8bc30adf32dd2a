#pragma once

#include <cstddef>
#include <span>
#include <string_view>

#include "chemistry/valid_range.h"
#include "units/quantities.h"

namespace limegate::chemistry {

inline constexpr ValidRange kElectrodeTemperatureRange{
    "electrode temperature", "C", 0.0, 60.0, "glass electrodes in common use (common practice)"};
inline constexpr ValidRange kElectrodeSlopeRange{"slope", "% of Nernst", 60.0, 105.0,
                                                 "85-105 good, below 80 worn (common practice)"};
inline constexpr ValidRange kElectrodeOffsetRange{
    "offset", "mV", -100.0, 100.0, "this program: past 100 mV it is no pH electrode's signal"};
inline constexpr ValidRange kElectrodePhRange{"pH", "", 0.0, 14.0,
                                              "the pH scale of a glass electrode"};

/// Voltage per pH of an ideal electrode, ln(10) R T / F.
/// Valid:  0..60 degC.   Errors: ChemistryFault outside.   Thread: any (so all functions here).
/// Source: Nernst's equation with CODATA 2018 constants.
[[nodiscard]] Result<Millivolts> nernst_slope(Celsius temperature);

/// A calibrated electrode: E = offset + slope * Nernst(T) * (7 - pH).
struct Electrode {
  Percent slope{100.0};    ///< of Nernst's
  Millivolts offset{0.0};  ///< at pH 7, where temperature has no say (the isopotential point)
};

/// What an electrode shows in water of this pH and temperature: the inverse of ph_from().
/// Valid:  0..60 degC, slope 60..105 %, offset +-100 mV, pH 0..14.   Errors: ChemistryFault
/// outside.
[[nodiscard]] Result<Millivolts> reading_of(const Electrode& electrode, Ph ph, Celsius temperature);

/// pH on the NBS/IUPAC scale from a live reading, compensated for the temperature of the water.
/// Valid:  0..60 degC, slope 60..105 %, offset +-100 mV, and a resulting pH of 0..14.
/// Errors: ChemistryFault outside of that.
[[nodiscard]] Result<Ph> ph_from(const Electrode& electrode, Millivolts reading,
                                 Celsius temperature);

/// One buffer in which the electrode stood.
struct BufferReading {
  Ph value;  ///< of the buffer at its temperature: buffer_ph(), or the bottle's table
  Celsius temperature;
  Millivolts reading;
  Millivolts drift{0.0};  ///< change of the reading over its last minute
};

enum class ElectrodeVerdict {
  good,     ///< slope 85..105 % and offset within 30 mV (common practice)
  ageing,   ///< slope 80..85 %
  worn_out  ///< slope below 80 % or offset beyond 30 mV (common practice)
};
enum class SlopeOrigin { assumed, measured };  ///< one buffer gives an offset only

struct ElectrodeCalibration {
  Electrode electrode;
  SlopeOrigin slope_origin;
  ElectrodeVerdict verdict;
};

enum class CalibrationRefusal {
  number_of_buffers,  ///< not one, two or three
  not_usable,         ///< a value, temperature or reading is not a number or outside its range
  drifting,           ///< the reading had not settled: more than 1 mV in its last minute
  buffers_equal,      ///< two buffers less than 1 pH apart
  readings_equal,  ///< two buffers, next to no difference: the same liquid twice, or broken glass
  swapped,         ///< the readings fit when two buffers change places
  contaminated,    ///< one buffer is not what its label says
  implausible_offset,  ///< more than 100 mV at pH 7: other bottles than stated, or a broken probe
};

/// Why a calibration is refused, and which buffers are to blame, as indices of the readings given.
struct CalibrationFault {
  CalibrationRefusal refusal;
  std::size_t first;
  std::size_t second;  ///< as `first` where only one is to blame
};

/// Calibrates an electrode from one, two or three buffers (least squares, each at its temperature).
/// One buffer gives the offset and assumes a slope of 100 %. Two cannot tell which is contaminated
/// unless the slope comes out impossible; three can: the readings must lie within 3 mV of a line.
/// Errors: CalibrationFault.
[[nodiscard]] tl::expected<ElectrodeCalibration, CalibrationFault> calibrate(
    std::span<const BufferReading> readings);

/// What to tell a keeper.
[[nodiscard]] std::string_view words(ElectrodeVerdict verdict);
[[nodiscard]] std::string_view words(CalibrationRefusal refusal);

}  // namespace limegate::chemistry
