#pragma once

#include <array>

#include "chemistry/valid_range.h"
#include "units/quantities.h"

namespace limegate::chemistry {

/// Standard buffers by their pH at 25 degC. A bottle that says 10.00 is none of these: its maker's
/// own table counts, and calibrate() takes a pH straight from it.
enum class StandardBuffer {
  phthalate_4_005,
  phosphate_6_865,
  phosphate_7_000,
  phosphate_7_413,
  borax_9_180,
  carbonate_10_012,
  calcium_hydroxide_12_454,
  technical_4_00,
  technical_7_00,
  technical_10_01,
};

inline constexpr std::array kStandardBuffers{StandardBuffer::phthalate_4_005,
                                             StandardBuffer::phosphate_6_865,
                                             StandardBuffer::phosphate_7_000,
                                             StandardBuffer::phosphate_7_413,
                                             StandardBuffer::borax_9_180,
                                             StandardBuffer::carbonate_10_012,
                                             StandardBuffer::calcium_hydroxide_12_454,
                                             StandardBuffer::technical_4_00,
                                             StandardBuffer::technical_7_00,
                                             StandardBuffer::technical_10_01};

inline constexpr ValidRange kBufferTemperatureRange{
    "buffer temperature", "C", 0.0, 50.0, "range of the buffer tables (IUPAC 2002 / NBS)"};

/// pH of a standard buffer on the NBS/IUPAC scale: the table's value at its temperatures, and a
/// smooth curve without overshoot between them (monotone cubic, Fritsch & Carlson 1980).
/// Valid:  0..50 degC.   Errors: ChemistryFault outside of that.   Thread: any.
/// Source: tests/data/ph_buffers.csv: NBS/NIST standards, which IUPAC 2002 (Buck et al., Pure Appl.
///         Chem. 74, 2169) matches within 0.001; the technical ones to two decimals only.
[[nodiscard]] Result<Ph> buffer_ph(StandardBuffer buffer, Celsius temperature);

}  // namespace limegate::chemistry
