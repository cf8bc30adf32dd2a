#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "dosing/account.h"
#include "rules/hold.h"
#include "rules/snapshot.h"
#include "station/attended.h"
#include "station/effects.h"
#include "station/history.h"
#include "station/pump_duty.h"
#include "station/settings.h"
#include "station/status.h"
#include "units/quantities.h"
#include "units/time.h"

namespace limegate::station {

/// Gives pulses and counts them: the pump's duty from decision to closed row, the account of the
/// sliding hour and day, and attended runs.   Threads: one owner.   Errors: none.
class Doser {
 public:
  Doser(const Settings& settings, const History& history, Moment now);

  /// Once a second, after judging: `ends_pulse` says that none may begin or go on.
  void step(Moment now, bool ends_pulse, Effects& effects) {
    pump_.step(now, !ends_pulse, effects);
  }
  /// Begins a pulse; the gate was judged open. Answers its number.
  std::int64_t reserve(Moment now, Millilitres volume, Effects& effects);
  void stop(Instant now, Effects& effects) { pump_.stop(now, effects); }
  void switch_off(Instant now, Effects& effects) { pump_.switch_off(now, effects); }

  void durable(Instant now, std::int64_t id) { pump_.durable(now, id); }
  /// Answers the pulse whose row was being written: nothing of it was sent.
  [[nodiscard]] std::optional<PulseRecord> ledger_failed();
  void take(Moment now, const OutletReport& report, Effects& effects) {
    pump_.take(now, report, effects);
  }
  /// A person released this hold.
  void released(const rules::Hold& hold) { pump_.released(hold); }

  /// What the newest pulse came to, if it ended with these effects, is told. Once for each.
  void tell(Moment now, Effects& effects);
  /// Counts all of them. Answers the newest pulse if it ended with them, once.
  [[nodiscard]] std::optional<ClosePulse> count(const Effects& effects);
  /// Whether a pulse begins with these effects, and how long nothing had been given before it
  /// (absent: ever).
  struct Begins {
    std::optional<Duration> undosed;
  };
  [[nodiscard]] std::optional<Begins> begins(Instant now, const Effects& effects);
  /// Takes the doses of a ledger that was read again; answers those of ours that it lacks.
  [[nodiscard]] std::vector<dosing::Dose> recount(Moment now,
                                                  const std::vector<dosing::Dose>& again);

  /// Adds what is known of pump and account.
  void know(Moment now, rules::Snapshot& known) const;
  void show(Moment now, Status& status) const;
  [[nodiscard]] Millilitres given_day(Moment now) const { return account_.last_day(stamp(now)); }
  /// By closed pulses, as far back as the record goes. Absent: not known.
  [[nodiscard]] const std::optional<Millilitres>& given_in_all() const { return given_in_all_; }
  [[nodiscard]] const PumpDuty& pump() const { return pump_; }
  [[nodiscard]] bool resting() const { return pump_.phase() == PumpDuty::Phase::resting; }
  /// And confirmed to.
  [[nodiscard]] bool rests() const { return resting() && pump_.watch().confirmed_off(); }

  [[nodiscard]] AttendedRun& attended() { return attended_; }
  [[nodiscard]] const AttendedRun& attended() const { return attended_; }

 private:
  [[nodiscard]] bool ends_newest(const ClosePulse& closed) const;
  [[nodiscard]] dosing::Stamp stamp(Moment now) const;
  void note_given(const ClosePulse& closed);

  dosing::PlanSettings plan_;
  Duration lifetime_before_boot_;
  PumpDuty pump_;
  dosing::Account account_;
  AttendedRun attended_;
  std::int64_t noted_pulse_ = 0;            ///< of the newest end
  std::optional<Instant> limewater_since_;  ///< of any kind
  std::optional<History::Given> last_given_;
  std::optional<Millilitres> given_in_all_;  ///< of closed pulses; absent: not known
};

}  // namespace limegate::station
