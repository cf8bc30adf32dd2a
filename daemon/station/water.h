#pragma once

#include <optional>
#include <string>

#include "dosing/spread.h"
#include "rules/hold.h"
#include "rules/snapshot.h"
#include "signal/watched_climb.h"
#include "station/anchor.h"
#include "station/effect_check.h"
#include "station/effects.h"
#include "station/history.h"
#include "station/reference.h"
#include "station/settings.h"
#include "station/status.h"
#include "station/usual_course.h"
#include "station/water_response.h"
#include "units/time.h"

namespace limegate::station {

/// What this tank's water does: how far pH has climbed, its usual course of the day, how it answers
/// to a dose by chemistry and by what was seen, and its reference of undosed days.
/// Threads: one owner.   Errors: none; what is not known yet is absent.
class Water {
 public:
  Water(const Settings& settings, const History& history, Moment now);
  /// Goes on from what an earlier run saw, and from the doses of the last day.
  void take_up(const History& history, const std::optional<SeenBefore>& seen, Moment now);

  /// Each second, before the others: a stepped wall clock is no change of pH.
  void follow(Moment now) { course_.follow(now); }
  /// Each second: what the keeper tested.
  void take(const std::optional<WaterResponse::Tested>& tested) { response_.take(tested); }
  /// Each second: what was known before the start is told.
  void step(Moment now, Effects& effects) { anchor_.step(now, effects); }

  /// Whether the newest pulse has mixed in; until then only the plain climb is judged.
  enum class Pulse { mixed_in, mixing };
  /// Adds what the water does, beside the probes' readings in `known`.
  void know(Moment now, Pulse pulse, rules::Snapshot& known) const;
  /// Learns from a good and calm pH; while something is wrong with it, not what is usual.
  void learn(Moment now, const rules::Snapshot& known, Pulse pulse, rules::Teaches teaches,
             Effects& effects);
  /// How far the day's volume is eased; see Reference.
  void ease(Reference::Moments at, Reference::Rise rise, Millilitres day_volume, Effects& effects) {
    reference_.ease(at, rise, day_volume, effects);
  }

  /// A dose is about to be given, so long after the one before it (absent: it is the first).
  void dose_begins(Moment now, std::optional<Duration> undosed, Effects& effects) {
    reference_.dose_begins(now, course_, undosed, effects);
  }
  /// It was given.
  void dosed(Instant at, Millilitres volume) { course_.dosed(at, volume); }

  /// The rise of pH by one millilitre where volumes may be sized by it.
  [[nodiscard]] std::optional<PhChange> tested_rise() const {
    return response_.tested_per_millilitre();
  }
  [[nodiscard]] Anchor::Halved halved() const { return anchor_.halved(effect_.if_learned()); }
  /// Of the day's volume, that is given: below one while it is eased.
  [[nodiscard]] double share() const { return reference_.share(); }
  /// The day that a plan may level, if it gives so much. Absent until the course is learned.
  [[nodiscard]] std::optional<dosing::DayOfPh> undosed_day(Moment now, Millilitres volume) const;

  /// A timed run gave this rate. Empty, or why it confirms nothing.
  [[nodiscard]] std::string confirm(MillilitresPerMinute measured, Effects& effects) {
    return anchor_.confirm(measured, effects);
  }
  /// The keeper's book tells of this rate. Empty, or why the volume is halved.
  [[nodiscard]] std::string told(MillilitresPerMinute measured, Effects& effects) {
    return anchor_.told(measured, effects);
  }
  /// Forgets the usual course; what doses do now is no decline.
  void relearn(Effects& effects);
  /// A person released this hold.
  void released(const rules::Hold& hold, Effects& effects);
  /// Keeps what there is, again.
  void store(Effects& effects) const;

  /// What a next run should know of it. Absent: nothing was undisturbed yet.
  [[nodiscard]] std::optional<SeenBefore> seen() const;
  [[nodiscard]] int course_days_to_go() const { return course_.days_to_go(); }
  [[nodiscard]] bool has_reference() const { return reference_.ph().has_value(); }
  void show(Moment now, const signal::Reading& ph, Status& status) const;

 private:
  signal::WatchedClimb climb_;
  UsualCourse course_;
  WaterResponse response_;
  Anchor anchor_;
  EffectCheck effect_;
  Reference reference_;
  Millilitres largest_dose_;  ///< of what stands for a lost record no volume flowed
};

}  // namespace limegate::station
