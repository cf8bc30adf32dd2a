#pragma once

#include <array>
#include <charconv>
#include <cmath>
#include <string>

namespace limegate {

/// A number for people, rounded to so many digits that count and without an exponent: 10000, and
/// not 1e+04. What no measure is as large or as small as, 1e15 or 1e-9, keeps its exponent.
[[nodiscard]] inline std::string plain_number(double value, int digits) {
  std::array<char, 64> room{};
  char* const begin = room.data();
  char* const last = begin + room.size();
  char* end = std::to_chars(begin, last, value, std::chars_format::general, digits).ptr;
  std::string general{begin, end};
  double rounded = 0.0;
  std::from_chars(begin, end, rounded);
  const double size = std::abs(rounded);
  if (general.find('e') == std::string::npos || !(size >= 1e-9 && size < 1e15)) {
    return general;
  }
  const int decimals =
      size >= 1.0 ? 0 : digits - 1 - static_cast<int>(std::floor(std::log10(size)));
  end = std::to_chars(begin, last, rounded, std::chars_format::fixed, decimals).ptr;
  std::string plain{begin, end};
  if (decimals > 0) {
    plain.erase(plain.find_last_not_of('0') + 1);
  }
  return plain;
}

}  // namespace limegate
