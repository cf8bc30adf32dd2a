#pragma once

#include <optional>

#include "signal/climb.h"
#include "units/time.h"

namespace limegate::signal {

/// A climb of which it is known whether anybody watched it. A silence breaks the window; then the
/// last value before it stands as the lowest, until a whole window was seen again. Without such a
/// value the climb is unknown, and never zero.
/// Units: those of the values given (pH).   Memory: fixed.
class WatchedClimb {
 public:
  struct Settings {
    Duration window = std::chrono::minutes{30};
    Duration silence_max = std::chrono::seconds{60};  ///< longer ones break the window
  };
  /// What was seen before the start, on this boot's clock.
  struct Past {
    Instant at;
    double value;   ///< the newest that was undisturbed
    double lowest;  ///< of the window then
  };
  WatchedClimb(const Settings& settings, std::optional<Past> before);

  /// A good value was seen, be it disturbed: there is no silence. Times do not go backwards.
  void seen(Instant now);
  /// It was undisturbed too.
  void learn(Instant now, double value);

  /// The rise of `value` above the lowest of the window; absent while that is unknown.
  [[nodiscard]] std::optional<double> rise(Instant now, double value) const;
  /// What a next run should know. Absent: nothing was undisturbed yet.
  [[nodiscard]] std::optional<Past> newest_undisturbed() const;
  /// How long it stays unknown if nothing is missed.
  [[nodiscard]] Duration unknown_for(Instant now) const;

 private:
  [[nodiscard]] bool seen_whole(Instant now) const {
    return seen_since_ && now - *seen_since_ >= settings_.window;
  }

  Settings settings_;
  Climb climb_;
  std::optional<Past> undisturbed_;    ///< the newest, or what was seen before the start
  std::optional<double> stands_;       ///< as the lowest, since the window broke
  std::optional<Instant> seen_since_;  ///< without a silence
  std::optional<Instant> newest_;
};

}  // namespace limegate::signal
