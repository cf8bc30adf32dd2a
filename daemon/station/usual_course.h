#pragma once

#include <array>
#include <chrono>
#include <optional>

#include "rules/snapshot.h"
#include "signal/day_course.h"
#include "signal/fading_sum.h"
#include "signal/joined_climb.h"
#include "station/effects.h"
#include "units/quantities.h"
#include "units/time.h"

namespace limegate::station {

/// What pH usually is at this time of day beside what the doses just given do to it, and how far it
/// has climbed away from both.
class UsualCourse {
 public:
  /// The air takes back in hours what a dose did: dissolved carbon follows the air some twenty
  /// times slower than CO2 alone. Source: our own reasoning; 3 to 6 h serve in the simulated tank.
  static constexpr Duration kFades = std::chrono::hours{4};

  UsualCourse(const signal::DayCourse::Quarters& stored, PhChange allowance_per_h);

  /// A dose was given. Times do not go backwards.
  void dosed(Instant at, Millilitres volume) { doses_.add(at, volume.count()); }
  /// The rise of pH by one millilitre, from now on: by chemistry, and as a share of that what doses
  /// were seen to do. Another share, because more was learned, is no change of pH.
  void expect(Instant now, PhChange per_millilitre, double share);
  /// What the doses so far are doing to pH now: by chemistry alone.
  [[nodiscard]] PhChange by_chemistry(Instant now) const {
    return per_millilitre_ * doses_.at(now);
  }

  /// Each second, before the others: another time of day, because the wall clock was stepped, is no
  /// change of pH.
  void follow(Moment now);

  enum class Teaches { yes, no };
  /// Takes a good, undisturbed pH. While something is wrong with the water it does not teach what
  /// is usual. What was learned is to be stored, and a course that moved is told.
  void take(Moment now, Ph value, Teaches teaches, Effects& effects);
  /// Absent until the course is learned, and while the wall clock is not trusted, as is everything
  /// that goes by the hour. Only its changes mean something: it goes on from where it
  /// was when the clock was stepped or the course moved.
  [[nodiscard]] std::optional<rules::Residual> residual(Moment now, Ph value) const;
  /// As of one moment, for a next run of the program.
  struct Left {
    Instant at;
    Ph value;
    rules::Residual residual;
  };
  /// The newest that was undisturbed and mixed. Absent until the course is learned.
  [[nodiscard]] const std::optional<Left>& newest_left() const { return newest_left_; }
  /// Goes on from what an earlier run saw in this boot. Before anything else is taken, once doses
  /// and their effect are known.
  void take_up(Moment now, const Left& before);
  /// With what the doses so far are doing to it.
  [[nodiscard]] std::optional<Ph> usual(Moment now) const;
  /// How far pH is above that of undosed days at this hour, if their mean was `reference`. What the
  /// doses do to it counts. Absent until the course is learned.
  [[nodiscard]] std::optional<PhChange> above(Moment now, Ph value, Ph reference) const;
  /// The mean of the days so far without their doses, if it was learned on so many at least.
  [[nodiscard]] std::optional<Ph> mean_of(int days) const;
  /// Days that it was learned on at the most, up to the days that it remembers.
  [[nodiscard]] int days() const { return course_.days(); }
  /// Without doses, of each quarter of an hour of the UTC day. Absent until it is learned.
  [[nodiscard]] std::optional<std::array<double, signal::DayCourse::kQuarters>> undosed_day(
      Moment now) const;
  /// Everything that was learned of it.
  void forget();
  [[nodiscard]] int days_to_go() const { return course_.days_to_go(); }

 private:
  [[nodiscard]] std::optional<Ph> undosed(Moment at) const;
  [[nodiscard]] std::optional<Ph> undosed(WallTime at) const;
  [[nodiscard]] PhChange expected(Instant now) const { return by_chemistry(now) * share_; }
  void carry(std::optional<Ph> before, std::optional<Ph> after);
  void store(int quarter, Effects& effects) const;
  void store_all(Effects& effects) const;

  PhChange allowance_per_h_;
  signal::DayCourse course_;
  signal::JoinedClimb climb_;
  signal::FadingSum doses_;
  PhChange per_millilitre_;
  double share_ = 1.0;
  std::optional<Moment> followed_;
  std::optional<Left> newest_left_;
  std::optional<double> mean_;  ///< of the course, as of its newest quarter
  double carried_ = 0.0;        ///< over steps, moves and what was learned
};

}  // namespace limegate::station
