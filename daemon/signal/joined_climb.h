#pragma once

#include <chrono>
#include <optional>

#include "signal/climb.h"
#include "signal/fading_mean.h"
#include "signal/rise_cusum.h"
#include "units/time.h"

namespace limegate::signal {

/// Which of the judges of a JoinedClimb speaks.
enum class Pace {
  quick,   ///< beyond an allowance per hour
  slow,    ///< within two hours
  lasting  ///< above the mean of two days
};

/// How far a value has climbed above where it was. No one judge is best for a climb of minutes and
/// for one of hours, so three look at it, under one budget of false holds; each wears off by itself
/// once a climb has ended. Before anything was learned there is no climb.
/// Source: bench_climb, whose tuning seeds chose windows and shares.
/// Units: those of the values given (pH).   Memory: fixed.   Threads: one owner.
class JoinedClimb {
 public:
  static constexpr Duration kWindow = std::chrono::hours{2};  ///< of the slow one
  static constexpr Duration kLastingOver = std::chrono::hours{48};

  /// The allowance is the quick one's, per hour.
  explicit JoinedClimb(double allowance_per_h) : quick_(allowance_per_h) {}

  /// The limit of a judge as a share of the slow one's.
  [[nodiscard]] static constexpr double share(Pace pace) {
    switch (pace) {
      case Pace::quick:
        return 0.54;
      case Pace::slow:
        return 1.0;
      case Pace::lasting:
        return 1.5;
    }
    return 0.0;  // as good as no limit: any climb holds
  }

  /// Of the judge that is nearest to its limit, or furthest beyond it.
  struct Strongest {
    double climb = 0.0;  ///< in terms of the slow one's limit, never negative: rise / share
    Pace pace = Pace::slow;
  };

  /// Takes a good, undisturbed value. Times do not go backwards; what is not finite is not taken.
  void learn(Instant at, double value);
  /// With `value`, be it disturbed, as the newest. What is not finite is a climb of NaN.
  [[nodiscard]] Strongest strongest(Instant now, double value) const;
  /// Goes on from what an earlier run saw: which judge saw it is not known, so each takes it for
  /// its own. Before anything is learned.
  void take_up(Instant at, double value, double climb);

 private:
  /// After a silence the last value before it stands as the slow judge's lowest for a window.
  struct Stands {
    Instant since;
    double value;
  };
  [[nodiscard]] double slow_rise(Instant now, double mean) const;

  FadingMean of_minute_{std::chrono::minutes{1}};
  RiseCusum quick_;
  FadingMean of_ten_{std::chrono::minutes{10}};
  Climb slow_{kWindow};
  std::optional<Stands> stands_;
  FadingMean of_hour_{std::chrono::hours{1}}, of_days_{kLastingOver};
  std::optional<Instant> newest_;
};

}  // namespace limegate::signal
