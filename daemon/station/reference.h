#pragma once

#include <optional>

#include "station/effects.h"
#include "station/usual_course.h"
#include "units/quantities.h"
#include "units/time.h"

namespace limegate::station {

/// What pH was on the days before dosing began, and how far the day's volume is eased because pH
/// rose far above it since.
class Reference {
 public:
  static constexpr int kUndosedDays = 3;    ///< that a reference is recorded from, at least
  static constexpr double kEases = 0.75;    ///< the volume, at each rise
  static constexpr double kStepsUp = 0.05;  ///< of the day's volume, after each calm day

  /// `in_file` is the owner's word and goes before what was recorded.
  Reference(const LearnedReference& stored, std::optional<Ph> in_file, dosing::Stamp today,
            Instant now);

  [[nodiscard]] std::optional<Ph> ph() const { return in_file_ ? in_file_ : learned_.ph; }
  /// Of the day's volume: what is given. 0 .. 1.
  [[nodiscard]] double share() const { return learned_.share; }

  /// A dose is about to be given, `undosed` after the one before it (absent: it is the first). If
  /// everything that was learned of the usual course is of undosed days, its mean is the reference
  /// from now on. Without any a person is told, once after each start.
  void dose_begins(Moment now, const UsualCourse& course, std::optional<Duration> undosed,
                   Effects& effects);

  struct Moments {
    Moment now;
    dosing::Stamp today;
  };
  /// Keeps what there is, again.
  void store(Effects& effects) const;
  enum class Rise { unknown, none, far_above };
  /// Each second. A rise that lasts an hour eases the volume, once a day at the most: a glitch, or
  /// a wall clock that is wrong after a start, does not. A day without a rise steps it up again;
  /// while none could be seen, no time counts.
  void ease(Moments at, Rise rise, Millilitres day_volume, Effects& effects);

 private:
  void change_to(double share, const Moments& at, Millilitres day_volume, Effects& effects);

  std::optional<Ph> in_file_;
  LearnedReference learned_;
  Instant now_;          ///< of the last step
  Duration calm_for_{};  ///< seen without a rise since the last one, or the last change
  std::optional<Instant> risen_since_;
  std::optional<Instant> eased_;  ///< since the start; absent: not, or long ago
  bool told_none_ = false;
};

}  // namespace limegate::station
