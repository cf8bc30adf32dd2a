#pragma once

#include <chrono>
#include <cmath>
#include <cstdint>

#include "units/quantities.h"
#include "units/time.h"

namespace limegate::journal {

// How quantities are stored: whole milliseconds and whole microlitres.

[[nodiscard]] inline std::int64_t ms(Duration duration) {
  return std::chrono::duration_cast<std::chrono::milliseconds>(duration).count();
}
[[nodiscard]] inline std::int64_t ms(WallTime wall) { return ms(wall.time_since_epoch()); }
/// Of the record: whole seconds since 1970.
[[nodiscard]] inline std::int64_t seconds_of(WallTime wall) {
  return std::chrono::floor<std::chrono::seconds>(wall.time_since_epoch()).count();
}
[[nodiscard]] inline Duration duration_of(std::int64_t count) {
  return std::chrono::milliseconds{count};
}
[[nodiscard]] inline WallTime wall_of(std::int64_t count) { return WallTime{duration_of(count)}; }

/// Rounded up: the count in the ledger is never below what was meant.
[[nodiscard]] inline std::int64_t microlitres(Millilitres volume) {
  return static_cast<std::int64_t>(std::ceil(volume.count() * 1000.0 - 1e-6));
}
[[nodiscard]] inline Millilitres volume_of(std::int64_t microlitres) {
  return Millilitres{static_cast<double>(microlitres) / 1000.0};
}

}  // namespace limegate::journal
