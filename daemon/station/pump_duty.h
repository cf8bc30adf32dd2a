#pragma once

#include <cstdint>

#include "dosing/account.h"
#include "station/effects.h"
#include "station/observation.h"
#include "station/outlet_watch.h"
#include "units/quantities.h"

namespace limegate::station {

/// Takes one pulse from the decision to its closed row: count first, pump second, never twice.
/// An id is used once; only a step energises; whatever is unknown counts in full.
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

  PumpDuty(MillilitresPerMinute highest_rate, std::int64_t newest_id, Instant now);

  /// Begins a pulse: the caller has judged the gate open.
  void reserve(Instant now, dosing::Stamp stamp, Millilitres volume, Duration duration,
               Effects& effects);

  /// Once a second, after judging: `keep` says whether a pulse may begin or go on.
  void step(Instant now, bool keep, Effects& effects);

  /// Ends whatever runs or is about to; nothing happens when nothing does.
  void stop(Instant now, Effects& effects);

  /// A person found and mended why a pulse went on past its end.
  void trust_timer_again() { timer_failed_ = false; }

  void durable(std::int64_t id);
  void ledger_failed();
  void take(Instant now, const OutletReport& report, Effects& effects);

  [[nodiscard]] Phase phase() const { return phase_; }
  /// Whether water may flow now.
  [[nodiscard]] bool may_flow() const {
    return phase_ == Phase::sent || phase_ == Phase::running || phase_ == Phase::ending;
  }
  /// Whether the newest pulse went on after the board should have ended it.
  [[nodiscard]] bool timer_failed() const { return timer_failed_; }
  [[nodiscard]] const OutletWatch& watch() const { return watch_; }
  [[nodiscard]] const PulseRecord& pulse() const { return pulse_; }

 private:
  void close(Fate fate, Millilitres counted, Effects& effects);
  void close_ended(Instant now, Effects& effects);
  void take_run(Instant now, const OutletReport& report, Effects& effects);

  MillilitresPerMinute highest_rate_;
  OutletWatch watch_{rules::OutletRole::pump};
  Phase phase_ = Phase::resting;
  PulseRecord pulse_;
  std::int64_t newest_id_;
  Instant expires_;
  Instant sent_at_;
  Instant ends_at_;
  bool cancelled_ = false;
  bool run_outstanding_ = false;
  bool nothing_was_sent_ = false;
  bool outcome_unknown_ = false;
  bool overran_ = false;       ///< seen on after its end: what could flow counts
  bool timer_failed_ = false;  ///< seen on so long after its end that no bus delay explains it
};

}  // namespace limegate::station
