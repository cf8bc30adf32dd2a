#pragma once

#include <optional>
#include <string>
#include <vector>

#include "rules/judge.h"
#include "station/command.h"
#include "station/effects.h"
#include "station/history.h"
#include "station/observation.h"
#include "station/owner_rules.h"
#include "station/settings.h"
#include "station/standing.h"
#include "units/time.h"

namespace limegate::station {

/// The verdict on dosing: every rule and every rule of the owner's judged each second, what was
/// tripped remembered, what waits for a person kept and released. Between two seconds it only
/// closes.   Threads: one owner.   Errors: none; what is unknown holds.
class Gate {
 public:
  Gate(const Settings& settings, const History& history, Instant now);
  /// Goes on from what an earlier run saw, of what can be judged here at all.
  struct Judges {
    bool two_probes, course, reference;
  };
  void take_up(const SeenBefore& seen, Judges judges);

  struct Verdict {
    bool open = false;
    bool ends_pulse = true;
  };
  /// Once a second. Holds that begin and end, and latches to keep, become effects.
  [[nodiscard]] Verdict judge(Moment now, const rules::Snapshot& known, Effects& effects);
  /// What would hold if this were known now; it changes nothing.
  [[nodiscard]] rules::Holds holds_for(Instant now, const rules::Snapshot& known) const;

  /// Whether one raw value of pH must end a pulse; it then holds until the pH clears it.
  [[nodiscard]] bool closes(double raw_ph);
  /// The same of an input of the owner's rules.
  [[nodiscard]] bool closes(Moment now, const InputSample& sample) {
    return owner_.take(now, sample);
  }
  /// Held until a person at the station releases it.
  void switch_off(Effects& effects);

  struct Release {
    Answer answer;
    std::optional<rules::Hold> released;  ///< absent: not one of ours, or not released
  };
  [[nodiscard]] Release release(const std::string& code, const rules::Snapshot& known,
                                Effects& effects);

  /// As of the last judgement, the owner's among them.
  [[nodiscard]] const rules::Holds& holds() const { return holds_; }
  [[nodiscard]] const std::vector<Standing>& standing() const { return standing_; }
  /// Codes of holds that wait for a person.
  [[nodiscard]] std::vector<std::string> latches() const;
  /// What was latched elsewhere is latched here.
  void add(const std::vector<std::string>& latches);
  [[nodiscard]] std::vector<rules::InputShown> inputs(Instant now) const {
    return owner_.inputs(now);
  }

  /// Whether the pH may teach what is usual.
  [[nodiscard]] rules::Teaches teaches() const;
  /// Whether the water itself, or what doses do to it, holds: what a window missed then is dropped.
  [[nodiscard]] bool water_holds() const;
  /// Whether something held that the usual course is needed for.
  [[nodiscard]] bool holds_beside_course() const;
  /// Whether pH rose far above its reference.
  [[nodiscard]] bool risen() const { return memory_.risen_tripped; }
  /// Whether the stirrer rests: clear limewater that flows uncommanded is bad enough, stirred it is
  /// milk. And who switched everything off wants nothing to run.
  [[nodiscard]] bool stirrer_rests() const;
  /// Adds what a next run should know of what was tripped.
  void leave(SeenBefore& seen) const;

 private:
  void note_stuck_again(Moment now, const rules::Snapshot& known, Effects& effects);
  void note_changes(Moment now, rules::Holds&& holds, Effects& effects);

  rules::Limits limits_;
  StirrerKind stirrer_;
  rules::Memory memory_;
  OwnerRules owner_;
  rules::Holds holds_;
  std::vector<Standing> standing_;                         ///< in the order of the holds
  bool pump_reads_on_ = false, stirrer_reads_on_ = false;  ///< although switched off
};

}  // namespace limegate::station
