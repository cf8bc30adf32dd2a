#pragma once

#include <string>
#include <string_view>

#include "calculator/measure.h"
#include "chemistry/electrode.h"

namespace limegate::calculator {

/// A buffer reading as typed, and the name by which to speak of it.
struct NamedReading {
  std::string name;
  chemistry::BufferReading reading;
};

/// Reads `BUFFER=READING@TEMPERATURE`:
///   7.00=-3.1mV@25C          the reading has settled
///   7.00=-3.9mV..-3.1mV@25C  the reading a minute ago and now
///   bottle10.06=-175mV@20C   a buffer that is no standard: its pH at this temperature, off its
///   bottle
/// Errors: a sentence that says which part is wrong; an unknown buffer lists the known ones.
[[nodiscard]] Input<NamedReading> parse_buffer(std::string_view text);

/// The standard buffers by the names that parse_buffer() knows.
[[nodiscard]] std::string known_buffers();

}  // namespace limegate::calculator
