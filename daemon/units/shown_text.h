#pragma once

#include <cstddef>
#include <string_view>

namespace limegate {

/// Whether a UTF-8 text is seen on a terminal, on a page and in a log as what it is: on one line,
/// without control characters, and without those that turn the direction of letters, so that one
/// address looks like another. Source: Unicode Standard Annex 9, table of section 2.
[[nodiscard]] inline bool shows_as_it_is(std::string_view utf8) {
  const auto byte = [&](std::size_t i) {
    return i < utf8.size() ? static_cast<unsigned char>(utf8[i]) : 0U;
  };
  const auto within = [](unsigned value, unsigned low, unsigned high) {
    return value >= low && value <= high;
  };
  for (std::size_t i = 0; i < utf8.size(); ++i) {
    const unsigned one = byte(i), next = byte(i + 1), third = byte(i + 2);
    const bool control = one < 0x20 || one == 0x7f || (one == 0xc2 && within(next, 0x80, 0x9f));
    const bool turns = (one == 0xd8 && next == 0x9c) ||                               // U+061C
                       (one == 0xe2 && next == 0x80 && within(third, 0x8e, 0x8f)) ||  // 200E, F
                       (one == 0xe2 && next == 0x80 && within(third, 0xa8, 0xae)) ||  // 2028 to E
                       (one == 0xe2 && next == 0x81 && within(third, 0xa6, 0xa9));    // 2066 to 9
    if (control || turns) {
      return false;
    }
  }
  return true;
}

}  // namespace limegate
