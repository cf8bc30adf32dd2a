#pragma once

#include <array>
#include <cstddef>
#include <cstdint>

#include "units/time.h"

namespace limegate::signal {

/// How far a value has risen within a sliding window: the value now less the lowest minute mean
/// of the window. It serves until a baseline is learned; the natural course of the day counts as
/// rise here, so the protection is coarser than a residual's.
/// Units: those of the values given (pH).   Memory: fixed.
class Climb {
 public:
  /// `window` is 1 min to 2 h; longer windows are cut to 2 h.
  explicit Climb(Duration window);

  /// Takes a good, undisturbed value. Times do not go backwards.
  void learn(Instant at, double value);

  /// The rise of `value` above the lowest minute of the window before `now`; zero if none is known.
  [[nodiscard]] double rise(Instant now, double value) const;

 private:
  static constexpr std::size_t kMinutes = 121;
  struct Minute {
    std::int64_t number = -1;
    double sum = 0.0;
    int count = 0;
  };

  /// The lowest mean of the window's minutes before `newest`.
  [[nodiscard]] double lowest_before(std::int64_t newest) const;

  std::int64_t window_minutes_;
  std::array<Minute, kMinutes> minutes_{};  ///< a ring, indexed by minute number
  struct Lowest {
    std::int64_t before = -1;
    double value = 0.0;
  };
  mutable Lowest lowest_;  ///< of this minute: it is asked for each second
};

}  // namespace limegate::signal
