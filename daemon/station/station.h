#pragma once

#include <optional>
#include <string>
#include <vector>

#include "dosing/account.h"
#include "rules/judge.h"
#include "signal/conditioner.h"
#include "signal/watched_climb.h"
#include "station/anchor.h"
#include "station/attended.h"
#include "station/command.h"
#include "station/disk_pace.h"
#include "station/effect_check.h"
#include "station/effects.h"
#include "station/history.h"
#include "station/owner_rules.h"
#include "station/pump_duty.h"
#include "station/reference.h"
#include "station/settings.h"
#include "station/standing.h"
#include "station/status.h"
#include "station/stir_duty.h"
#include "station/unrecorded.h"
#include "station/usual_course.h"
#include "station/water_response.h"
#include "station/window_plan.h"
#include "station/wishes.h"

namespace limegate::station {

/// The core of one station: a state machine without I/O, clock or log. `step`, once a second,
/// judges every rule and is the only place where anything is energised. `observe`, on everything
/// that arrives, takes note and may only stop. Both answer with effects that the caller carries out
/// in order; what became of them comes back through `observe`. Threads: one owner.   Errors: none.
class Station {
 public:
  Station(Settings settings, const History& history, Moment now);
  /// `now` does not go backwards on its monotonic side; its wall side may do anything.
  [[nodiscard]] Effects step(Moment now);
  [[nodiscard]] Effects observe(Moment now, const Observation& observation);

  /// Judges a command and does what it says. Nothing is energised here: the next steps do that, and
  /// only if the gate is open. Any command may come from anywhere; what may not is refused.
  struct Commanded {
    Answer answer;
    Effects effects;
  };
  [[nodiscard]] Commanded command(Moment now, const Command& command, Origin origin);
  /// The same for what was read from the ledger again after a fault: nothing is ever forgotten.
  void recount(Moment now, const History& again);
  [[nodiscard]] Status status(Moment now) const;
  /// Codes of holds that wait for a person.
  [[nodiscard]] std::vector<std::string> latches() const;
  /// Everything that the rules look at. `asked` = the volume that would be given now, or none.
  [[nodiscard]] rules::Snapshot snapshot(Moment now, Millilitres asked) const;

  /// While limewater may flow, the pH probe is worth reading more often.
  [[nodiscard]] bool wants_quick_readings() const { return pump_.may_flow(); }
  /// Since when an outlet that may be on is to be off; absent while none is.
  [[nodiscard]] std::optional<Instant> off_due_since() const;
  [[nodiscard]] bool gate_open() const { return holds_.empty(); }
  [[nodiscard]] const rules::Holds& holds() const { return holds_; }
  [[nodiscard]] const std::string& name() const { return settings_.name; }
  /// What a next run of the program should know of the pH. Absent: nothing was undisturbed yet.
  [[nodiscard]] std::optional<SeenBefore> seen() const;
  /// Of the pH that every rule goes by, or of the temperature.
  [[nodiscard]] signal::Reading reading(rules::Role role, Instant now) const;

 private:
  void take_up(const History& history, Moment now);
  [[nodiscard]] dosing::Stamp stamp(Moment now) const;
  [[nodiscard]] std::optional<dosing::Slot> slot_due(const StirDuty::Window& window,
                                                     Instant now) const;
  [[nodiscard]] StirDuty::May stirrer_may(Instant now) const;
  [[nodiscard]] Millilitres largest_pulse() const;
  [[nodiscard]] Millilitres planned_pulse(const dosing::Slot& slot) const;
  [[nodiscard]] Millilitres volume_in_force(Millilitres wished) const;
  [[nodiscard]] dosing::PlanSettings present_plan() const;
  void note_volume_in_force(Moment now, Effects& effects);
  void shape_for(const StirDuty::Window& window, Moment now);
  void take(Moment now, const ProbeSample& sample, Effects& effects);
  void take(Moment now, const StirrerSample& sample, Effects& effects);
  void take(Moment now, const InputSample& sample, Effects& effects);
  void take(Moment now, const PulseDurable& durable, Effects& effects);
  void take(Moment now, const StirDurable& durable, Effects& effects);
  void take(Moment now, const LedgerFault& fault, Effects& effects);
  void take(Moment now, const LedgerSound& sound, Effects& effects);
  void take(Moment now, const OutletReport& report, Effects& effects);
  void take(Moment now, const Stopping& stopping, Effects& effects);
  [[nodiscard]] Millilitres attended_pulse() const;
  [[nodiscard]] Answer obey(Moment now, const Pause& pause, Origin origin, Effects& effects);
  [[nodiscard]] Answer obey(Moment now, const Resume& resume, Origin origin, Effects& effects);
  [[nodiscard]] Answer obey(Moment now, const Release& release, Origin origin, Effects& effects);
  [[nodiscard]] Answer obey(Moment now, const SetDayVolume& set, Origin origin, Effects& effects);
  [[nodiscard]] Answer obey(Moment now, const StirNow& stir, Origin origin, Effects& effects);
  [[nodiscard]] Answer obey(Moment now, const RunAttended& run, Origin origin, Effects& effects);
  [[nodiscard]] Answer obey(Moment now, const Relearn& relearn, Origin origin, Effects& effects);
  [[nodiscard]] Answer obey(Moment now, const SwitchAllOff& off, Origin origin, Effects& effects);
  [[nodiscard]] Answer obey(Moment now, const ConfirmRate& rate, Origin origin, Effects& effects);
  void go_on_attended(Moment now, Effects& effects);
  void note_disturbance(Instant now);
  [[nodiscard]] bool mixed(Instant now) const { return !mixed_at_ || now >= *mixed_at_; }
  void learn_from(Moment now, const signal::Reading& ph, Effects& effects);
  void begin_gently(Moment now, Effects& effects);
  void note_first_dose(Moment now, Effects& effects);
  void note_changes(Moment now, const rules::Judgement& judgement, Effects& effects);
  void note_stuck_again(Moment now, const rules::Snapshot& known, Effects& effects);
  void note_silence(Moment now, Effects& effects);
  void note_shortfall(Moment now, Effects& effects);
  void note_temperature(Moment now, const signal::Reading& reading, Effects& effects);
  void note_long_holds(Moment now, Effects& effects);
  void note_pulses(Moment now, Effects& effects);
  void take_note(Moment now, const Effects& effects);
  void count(Moment now, const Effects& effects);
  [[nodiscard]] bool ends_newest(const ClosePulse& closed) const;

  Settings settings_;
  Wishes wishes_;
  dosing::VolumesInForce volumes_;
  dosing::PlanShape shape_;
  Duration lifetime_before_boot_;
  dosing::Account account_;
  signal::Conditioner ph_;
  std::optional<signal::Conditioner> second_ph_;
  signal::Conditioner temperature_;
  signal::WatchedClimb climb_;
  UsualCourse course_;
  WaterResponse response_;
  Anchor anchor_;
  EffectCheck effect_;
  Reference reference_;
  PumpDuty pump_;
  DiskPace disk_;
  Unrecorded unrecorded_;
  StirDuty stir_;
  rules::Memory memory_;
  OwnerRules owner_;
  rules::Holds holds_;
  std::vector<Standing> standing_;
  std::optional<std::string> ledger_fault_;
  std::optional<Instant> stopping_until_, disturbed_until_, mixed_at_;  ///< by the newest pulse
  std::optional<dosing::Slot> last_slot_;
  std::int64_t slot_pulse_ = 0, noted_pulse_ = 0;             ///< that took it; of the newest end
  std::optional<Instant> reserved_before_, limewater_since_;  ///< at the start; of any kind
  WindowPlan window_plan_;
  std::optional<Instant> shaped_window_, dropped_window_;  ///< `shape_` is for; gives no more
  std::optional<Attended> attended_;
  std::optional<Measurable> measurable_;
  Instant last_dosed_, shortfall_checked_;  ///< or the first start
  std::size_t silence_alerts_ = 0;
  bool begins_gently_ = false, temperature_told_ = false;
  bool pump_reads_on_ = false, stirrer_reads_on_ = false;  ///< although switched off
};

}  // namespace limegate::station
