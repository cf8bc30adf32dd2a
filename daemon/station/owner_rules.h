#pragma once

#include <optional>
#include <string>
#include <vector>

#include "rules/hold.h"
#include "rules/owner_rule.h"
#include "rules/snapshot.h"
#include "signal/climb.h"
#include "station/command.h"
#include "station/effects.h"
#include "station/observation.h"
#include "units/time.h"

namespace limegate::station {

/// The owner's rules of one station at work: what is known of their inputs, and what each rule
/// remembers. They add holds and alerts, and take none away.
/// Threads: one owner.   Errors: none; what is unknown holds.
class OwnerRules {
 public:
  /// `latches` = the codes of all holds that wait for a person.
  OwnerRules(const rules::OwnerRulebook& book, const std::vector<std::string>& latches,
             Instant now);

  /// Takes note of a sample. True if a pulse must end for it: a hold that need not last is met.
  [[nodiscard]] bool take(Moment now, const InputSample& sample);

  /// Judges every rule: alerts and latches to keep become effects, holds are added to `holds`.
  void step(Moment now, const rules::Snapshot& known, rules::Holds& holds, Effects& effects);

  /// The owner's own inputs, without the station's probes.
  [[nodiscard]] std::vector<rules::InputShown> inputs(Instant now) const;

  /// As of the last step.
  [[nodiscard]] const rules::Holds& holds() const { return holds_; }

  /// Codes of its holds that wait for a person.
  [[nodiscard]] std::vector<std::string> latches() const;

  /// Releases a latched hold if its cause is gone. Absent: no rule of the owner's has this latch.
  [[nodiscard]] std::optional<Answer> release(const std::string& code, Effects& effects);

 private:
  struct Seen {
    std::optional<double> value;
    Instant at;  ///< without a value: the start
  };
  /// A climb is known once a whole window was seen, without a silence.
  struct Climbing {
    signal::Climb climb;
    Duration within;
    std::optional<Instant> seen_since = {};
    [[nodiscard]] double rise(Instant now, double value) const;
  };
  struct Followed {
    rules::OwnerRule rule;
    rules::OwnerMemory memory;
    std::vector<std::optional<Climbing>> climbs;  ///< of the comparisons that ask for it
    rules::OwnerEvidence seen = {};               ///< as it was looked at last
    rules::OwnerMemory::Stands told = rules::OwnerMemory::Stands::no;  ///< of an alert
    bool kept = false;                                                 ///< its latch
  };

  void see(std::size_t input, Instant now, std::optional<double> value, Instant at);
  void see(std::size_t probe, Moment now, const signal::Reading& reading);
  /// What the clock on the wall shows, if a rule goes by it and it can be trusted.
  [[nodiscard]] std::optional<Duration> hour(Moment now) const;
  void look(Instant now, const std::optional<Duration>& hour, Followed& followed) const;
  void tell(Moment now, Followed& followed, Effects& effects);
  void keep_latch(Followed& followed, Effects& effects);

  std::vector<rules::Input> inputs_;
  std::vector<Seen> seen_;  ///< by input
  std::vector<Followed> rules_;
  std::vector<std::string> forgotten_;  ///< latches whose rule is gone, to be told
  rules::Holds holds_;
};

}  // namespace limegate::station
