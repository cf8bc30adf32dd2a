#pragma once

#include <chrono>
#include <cstdint>
#include <optional>

#include "dosing/account.h"
#include "rules/hold.h"
#include "station/effects.h"
#include "station/history.h"
#include "station/observation.h"
#include "station/outlet_watch.h"
#include "station/settings.h"
#include "units/quantities.h"

namespace limegate::station {

/// Takes one pulse from the decision to its closed row: count first, pump second, never twice.
/// An id is used once; only a step energises; whatever is unknown counts in full. A dose that
/// nothing but we ends (a board without a timer, a pump that somebody else switched on) grows at
/// the highest rate until the pump is confirmed off.
class PumpDuty {
 public:
  enum class Phase {
    resting,
    reserving,  ///< the row is being written
    reserved,   ///< the row is durable; the next step decides
    sent,       ///< the guard has it
    running,
    ending,  ///< off was sent, or an unexpected end is being confirmed
  };
  struct Pump {
    MillilitresPerMinute highest_rate;
    RunEnds ends = RunEnds::by_board;
  };

  PumpDuty(const Pump& pump, const History& history, Moment now);

  /// Begins a pulse: the caller has judged the gate open.
  void reserve(Instant now, dosing::Stamp stamp, Millilitres volume, Duration duration,
               Effects& effects);

  /// Once a second, after judging: `keep` says whether a pulse may begin or go on.
  void step(Moment now, bool keep, Effects& effects);

  /// Ends whatever runs or is about to; nothing happens when nothing does.
  void stop(Instant now, Effects& effects);

  /// The same, and off is sent and confirmed anew in any case.
  void switch_off(Instant now, Effects& effects) {
    stop(now, effects);
    watch_.switch_off(now, effects);
  }

  /// A person released this hold: what made a pulse go on past its end is mended, or who switched
  /// the pump on is looked after.
  void released(const rules::Hold& hold);

  /// The row of this pulse is on the disk: the command may follow within the next moments.
  void durable(Instant now, std::int64_t id);
  void ledger_failed();
  void take(Moment now, const OutletReport& report, Effects& effects);

  [[nodiscard]] Phase phase() const { return phase_; }
  /// Whether water may flow now.
  [[nodiscard]] bool may_flow() const {
    return phase_ == Phase::sent || phase_ == Phase::running || phase_ == Phase::ending;
  }
  /// Since when water may flow; absent while none may.
  [[nodiscard]] std::optional<Instant> flows_since() const {
    return may_flow() ? std::optional{sent_at_} : std::nullopt;
  }
  /// Whether the newest pulse went on after the board should have ended it.
  [[nodiscard]] bool timer_failed() const { return timer_failed_; }
  /// Whether it was found on although nobody had commanded it, and before that within 24 hours too.
  [[nodiscard]] rules::Found found() const { return found_; }
  [[nodiscard]] const OutletWatch& watch() const { return watch_; }
  [[nodiscard]] const PulseRecord& pulse() const { return pulse_; }

 private:
  /// The board's timer and ours may differ by this much before we step in; and an off that is later
  /// is told to a person.
  static constexpr Duration kOverrunGrace = std::chrono::seconds{2};

  [[nodiscard]] bool grows() const { return nobody_commanded_ || pump_.ends == RunEnds::by_us; }
  [[nodiscard]] Millilitres could_flow(Duration lasting) const;
  [[nodiscard]] dosing::Stamp stamp(Moment now) const;
  void grow(Moment now, Effects& effects);
  void found_on(Moment now, Effects& effects);
  void send(Instant now, Effects& effects);
  void close(Fate fate, Millilitres counted, Effects& effects);
  void close_ended(Moment now, std::optional<Instant> off_since, Effects& effects);
  void close_grown(Moment now, std::optional<Instant> off_since, Effects& effects);
  void take_run(Instant now, const OutletReport& report, Effects& effects);
  void note_look(Moment now, OutletReport::Result result, Effects& effects);

  Pump pump_;
  Duration lifetime_before_boot_;
  OutletWatch watch_{rules::OutletRole::pump};
  Phase phase_ = Phase::resting;
  PulseRecord pulse_;
  std::int64_t newest_id_;
  Instant expires_;
  Instant sent_at_;
  Instant ends_at_;
  Instant heard_at_;       ///< of the pump's board, while a pulse runs
  Instant excused_until_;  ///< a run of before the start, which its board ends, may last so long
  Instant known_off_at_;   ///< before the first confirmed off: the end of the newest closed row
  std::optional<dosing::Stamp> found_at_;
  std::optional<Instant> switched_off_at_;  ///< by another program, before the start
  rules::Found found_ = rules::Found::never;
  bool cancelled_ = false;
  bool run_outstanding_ = false;
  bool nothing_was_sent_ = false;
  bool outcome_unknown_ = false;
  bool taken_up_ = false;          ///< from before the start
  bool nobody_commanded_ = false;  ///< what flows
  bool told_late_ = false;
  int looks_off_ = 0;          ///< in a row, although it was to run
  bool told_not_on_ = false;   ///< in this pulse or one before, and none read on since
  bool overran_ = false;       ///< seen on after its end: what could flow counts
  bool timer_failed_ = false;  ///< seen on so long after its end that no bus delay explains it
};

}  // namespace limegate::station
