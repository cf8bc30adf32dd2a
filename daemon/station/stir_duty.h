#pragma once

#include <cstdint>
#include <optional>

#include "dosing/plan.h"
#include "rules/hold.h"
#include "rules/snapshot.h"
#include "station/effects.h"
#include "station/history.h"
#include "station/observation.h"
#include "station/outlet_watch.h"
#include "station/settings.h"

namespace limegate::station {

/// Runs the stirrer in its rhythm, or watches one that runs on a timer of its own, and knows since
/// when it rests. What it does not know it reports as unknown or as "ended just now".
class StirDuty {
 public:
  StirDuty(StirrerKind kind, const dosing::StirCycle& cycle, const History& history, Instant now);

  /// What the stirrer may do: begin a stir, only go on with the one that runs, or nothing.
  enum class May { begin, go_on, rest };
  /// Once a second.
  void step(Moment now, dosing::Stamp stamp, May may, Effects& effects);

  /// While limewater may flow, a stirrer that somebody starts must be known at once.
  void look(Effects& effects);

  /// Ends a stir that runs; off is sent and confirmed anew in any case.
  void switch_off(Instant now, Effects& effects);

  /// A person was at the reactor until now: it counts as stirred, and after a restart once the row
  /// of that is durable, whose number is the answer. Absent: no row is needed, it settles anew.
  [[nodiscard]] std::optional<std::int64_t> disturbed(Instant now, dosing::Stamp stamp,
                                                      Effects& effects);

  /// The next stir begins as soon as it may. Switched stirrers only.
  void begin_soon(Instant now) { last_start_ = now - cycle_.every; }
  [[nodiscard]] Instant last_start() const { return last_start_; }

  void durable(Instant now, std::int64_t id);
  void ledger_failed();
  void take(Moment now, dosing::Stamp stamp, const OutletReport& report, Effects& effects);
  /// An observed stirrer's input answered, or did not.
  void take(Instant now, dosing::Stamp stamp, const StirrerSample& sample, Effects& effects);

  [[nodiscard]] rules::StirrerKnown known(Instant now) const;
  /// Adds what is known of it.
  void know(Instant now, rules::Snapshot& known) const;
  [[nodiscard]] rules::OutletKnown outlet(Instant now) const;
  [[nodiscard]] const OutletWatch& watch() const { return watch_; }
  /// Of a switched one; nobody can confirm an observed one.
  [[nodiscard]] bool confirmed_off() const { return watch_.confirmed_off(); }
  /// Whether it was found on although nobody had commanded it, and before that within 24 hours too.
  [[nodiscard]] rules::Found found() const { return found_; }
  /// A person released this hold: who switched the stirrer on is looked after.
  void released(const rules::Hold& hold);
  /// Whether the next stir is being prepared, runs, or has not been confirmed to have ended.
  [[nodiscard]] bool busy() const { return phase_ != Phase::resting; }
  using Window = dosing::Window;
  /// Absent while the stirrer is not known to rest. An observed stirrer that is overdue may not
  /// come at all; its windows then follow each other in the rhythm that the owner gave.
  [[nodiscard]] std::optional<Window> clear_window(Instant now, Duration settle) const;

  /// When the next stir begins (switched) or is expected to (observed).
  [[nodiscard]] Instant next_start() const { return last_start_ + cycle_.every; }

 private:
  enum class Phase { resting, recording, recorded, sent, running, ending };

  void begin(Instant now, dosing::Stamp stamp, Effects& effects);
  void rest(Instant now, dosing::Stamp stamp, Effects& effects);
  void end(Instant now);
  void not_begun(Instant now, dosing::Stamp stamp, Effects& effects);
  void found_on(Moment now, dosing::Stamp stamp, Effects& effects);

  StirrerKind kind_;
  dosing::StirCycle cycle_;
  OutletWatch watch_{rules::OutletRole::stirrer};
  Phase phase_ = Phase::resting;
  std::int64_t newest_id_;
  std::optional<std::int64_t> open_row_;
  Instant last_start_;
  std::optional<Instant> rested_since_;
  std::optional<Instant> observed_at_;  ///< newest answer of the input
  std::optional<dosing::Stamp> found_at_;
  rules::Found found_ = rules::Found::never;
  Instant expires_;
  Instant ends_at_;
};

}  // namespace limegate::station
