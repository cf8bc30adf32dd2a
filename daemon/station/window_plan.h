#pragma once

#include <optional>

#include "dosing/plan.h"
#include "dosing/plan_fit.h"
#include "dosing/spread.h"
#include "units/quantities.h"
#include "units/time.h"

namespace limegate::station {

/// How much each clear window gives: its part of the day by the plan's spread and, where the plan
/// says so, what windows of the last 24 hours missed. It only asks; every limit is judged at each
/// pulse.
class WindowPlan {
 public:
  /// What the next window's volume follows from, as it is now.
  struct Present {
    dosing::PlanSettings plan;
    dosing::PlanBounds bounds;
    std::optional<dosing::DayOfPh> ph;  ///< by the UTC day; absent: levelling gives evenly
  };

  /// A window opens: the shape of its pulses.
  [[nodiscard]] dosing::PlanShape open(Moment opens, const Present& present);
  /// What a planned pulse came to.
  void given(Millilitres volume) { given_ += volume; }
  /// What this window and those before it missed is not made up: pH itself held it back, or the
  /// plan is another.
  void drop_missed();

 private:
  /// Kept for a week, unless the water bears less than it did: a plan that changes from day to day
  /// gives more than a day's volume within some 24 hours, and less within others.
  struct Levelled {
    Instant since;
    Millilitres day_volume;
    double most;  ///< that a window could take then
    dosing::DayWeights weights;
  };
  [[nodiscard]] double weight_of(Moment opens, const Present& present, double most);

  std::optional<Levelled> levelled_;
  dosing::MissedVolume missed_;
  std::optional<Instant> opened_;  ///< of the window whose misses count
  Millilitres own_;                ///< of that window's volume: without what it makes up
  Millilitres owed_;  ///< what windows so far could not give in whole steps of the timer
  Millilitres given_;
};

}  // namespace limegate::station
