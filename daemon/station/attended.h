#pragma once

#include <optional>
#include <string>

#include "dosing/plan.h"
#include "rules/hold.h"
#include "station/effects.h"
#include "units/quantities.h"
#include "units/time.h"

namespace limegate::station {

/// Of the holds that keep an attended run from beginning or going on, each sentence after a blank;
/// empty: none. One that comes with every pulse and goes by itself within a minute is none.
[[nodiscard]] std::string against_attended(const rules::Holds& holds);

/// A priming or calibration run with a person beside it: ordinary pulses, one after the other,
/// while the gate is open; and what the person may say afterwards that it gave.
class AttendedRun {
 public:
  explicit AttendedRun(const dosing::PlanSettings& plan) : plan_(plan) {}

  void begin(Moment now, Millilitres volume, Effects& effects);
  [[nodiscard]] bool under_way() const { return run_.has_value(); }
  /// Its next pulse, while it is under way.
  [[nodiscard]] Millilitres next_pulse(Millilitres largest) const;
  /// Once a second while the pump rests: that pulse, if it begins now; or the run is over.
  [[nodiscard]] std::optional<Millilitres> go_on(Moment now, const rules::Holds& holds,
                                                 Millilitres largest, Effects& effects);
  /// A pulse of it has ended.
  void counted(const ClosePulse& closed);

  struct Shown {
    bool under_way;
    Duration ran;  ///< the pump, in its pulses so far
  };
  /// The newest since the start. Absent: there was none.
  [[nodiscard]] std::optional<Shown> shown() const;

  /// How long a run lasted that has ended lately; absent: there is none that tells anything.
  [[nodiscard]] std::optional<Duration> measurable(Instant now) const;
  /// It may be told so long after its end, if it lasted so long.
  static constexpr Duration kMeasurableFor = std::chrono::hours{2};
  static constexpr Duration kMeasurableFrom = std::chrono::seconds{20};

 private:
  struct Run {
    Millilitres remaining;
    Millilitres counted;
    Duration ran{};
    Instant give_up;
  };
  struct Measurable {
    Duration ran{};
    Instant until;
  };
  void end(Moment now, const std::string& why, Effects& effects);

  dosing::PlanSettings plan_;
  std::optional<Run> run_;
  std::optional<Measurable> measurable_;
};

}  // namespace limegate::station
