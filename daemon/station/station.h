#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "station/command.h"
#include "station/doser.h"
#include "station/effects.h"
#include "station/gate.h"
#include "station/history.h"
#include "station/keepers_book.h"
#include "station/observation.h"
#include "station/probes.h"
#include "station/recording.h"
#include "station/schedule.h"
#include "station/settings.h"
#include "station/status.h"
#include "station/stir_duty.h"
#include "station/upkeep_watch.h"
#include "station/vigil.h"
#include "station/water.h"
#include "station/wishes.h"

namespace limegate::station {

/// The core of one station: a state machine without I/O, clock or log. `step`, once a second,
/// judges every rule and is the only place where anything is energised. `observe`, on everything
/// that arrives, takes note and may only stop. Both answer with effects that the caller carries out
/// in order; what became of them comes back through `observe`. Threads: one owner.   Errors: none.
///
/// It conducts parts with one concern each, and none knows another but through what is handed over
/// here. Their headers are its guide: probes, water, gate, schedule, doser, stir_duty, recording,
/// wishes, vigil.
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
  [[nodiscard]] const KeepersBook& book() const { return book_; }
  /// Codes of holds that wait for a person.
  [[nodiscard]] std::vector<std::string> latches() const { return gate_.latches(); }
  /// Everything that the rules look at. `asked` = the volume that would be given now, or none.
  [[nodiscard]] rules::Snapshot snapshot(Moment now, Millilitres asked) const;

  /// While limewater may flow, the pH probe is worth reading more often.
  [[nodiscard]] bool wants_quick_readings() const { return doser_.pump().may_flow(); }
  /// Since when an outlet that may be on is to be off; absent while none is.
  [[nodiscard]] std::optional<Instant> off_due_since() const;
  [[nodiscard]] bool gate_open() const { return gate_.holds().empty(); }
  [[nodiscard]] const rules::Holds& holds() const { return gate_.holds(); }
  [[nodiscard]] const std::string& name() const { return settings_.name; }
  /// What a next run of the program should know of the pH. Absent: nothing was undisturbed yet.
  [[nodiscard]] std::optional<SeenBefore> seen() const;
  /// Of the pH that every rule goes by, or of the temperature.
  [[nodiscard]] signal::Reading reading(rules::Role role, Instant now) const {
    return probes_.reading(role, now);
  }

 private:
  struct Takes;  ///< what is made of each observation
  struct Obeys;  ///< and of each command
  /// The pulse that is due, if one is; of an attended run, or of the plan's slot.
  struct Due {
    enum class For { nothing, plan, attended } what = For::nothing;
    Millilitres volume = {};
    dosing::Slot slot = {};
  };

  [[nodiscard]] dosing::Stamp stamp(Moment now) const;
  [[nodiscard]] Schedule::Present present() const;
  [[nodiscard]] std::optional<WaterResponse::Tested> tested(Moment now) const;
  [[nodiscard]] Water::Pulse newest_pulse(Instant now) const;
  [[nodiscard]] std::optional<dosing::Window> clear_window(Instant now) const;
  [[nodiscard]] StirDuty::May stirrer_may(Instant now) const;
  void begin_gently(Moment now, Effects& effects);
  void end_service(Moment now, Effects& effects);
  void service_over(Moment now, Effects& effects);
  void come_back(Moment now, Effects& effects);
  void note_disturbance(Instant now);
  [[nodiscard]] Due due(Moment now);
  void ease(Moment now, const rules::Snapshot& known, Effects& effects);
  void give(Moment now, const Due& due, const Gate::Verdict& verdict, Effects& effects);
  void watch(Moment now, const rules::Snapshot& known, Effects& effects);
  void take_note(Moment now, const Effects& effects);

  Settings settings_;
  Duration lifetime_before_boot_;
  Wishes wishes_;
  KeepersBook book_;
  Probes probes_;
  Water water_;
  Gate gate_;
  Schedule schedule_;
  Doser doser_;
  StirDuty stirrer_;
  Recording recording_;
  Vigil vigil_;
  UpkeepWatch upkeep_;
  std::optional<Instant> stopping_until_;
  std::optional<std::int64_t> served_by_;  ///< the row by which work at the reactor settles
  bool begins_gently_;
};

}  // namespace limegate::station
