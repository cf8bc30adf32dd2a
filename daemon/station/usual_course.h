#pragma once

#include <optional>

#include "rules/snapshot.h"
#include "signal/day_course.h"
#include "signal/rise_cusum.h"
#include "station/effects.h"
#include "units/quantities.h"
#include "units/time.h"

namespace limegate::station {

/// What pH usually is at this time of day, and how far it has climbed away from that.
class UsualCourse {
 public:
  UsualCourse(const signal::DayCourse::Quarters& stored, PhChange allowance_per_h);

  /// Each second, before the others: another time of day, because the wall clock was stepped, is no
  /// change of pH.
  void follow(Moment now);

  enum class Teaches { yes, no };
  /// Takes a good, undisturbed pH. While something is wrong with the water it does not teach what
  /// is usual. What was learned is to be stored, and a course that moved is told.
  void take(Moment now, Ph value, Teaches teaches, Effects& effects);
  /// Absent until the course is learned. Only its changes mean something: it goes on from where it
  /// was when the clock was stepped or the course moved.
  [[nodiscard]] std::optional<rules::Residual> residual(Moment now, Ph value) const;
  [[nodiscard]] std::optional<Ph> usual(WallTime at) const;
  [[nodiscard]] int days_to_go() const { return course_.days_to_go(); }

 private:
  void carry(std::optional<Ph> before, std::optional<Ph> after);
  void store_all(Effects& effects) const;

  signal::DayCourse course_;
  signal::RiseCusum climb_;
  std::optional<Moment> followed_;
  double carried_ = 0.0;  ///< over steps and moves
};

}  // namespace limegate::station
