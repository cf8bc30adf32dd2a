#pragma once

#include <optional>
#include <vector>

#include "rules/hold.h"
#include "rules/limits.h"
#include "rules/snapshot.h"

namespace limegate::rules {

/// What the rules remember from one step to the next: which limit was tripped and has not cleared.
struct Memory {
  /// What is not known since a start: whether it was tripped. Until each was seen in calm water it
  /// trips where it would clear.
  struct Unsure {
    bool ceiling = false, climb = false, unusual_climb = false, risen = false;
  } unsure;
  bool ceiling_tripped = false;
  bool climb_tripped = false;
  bool unusual_climb_tripped = false;
  /// An unusual climb while the pump rests: since when, and the lowest that was left of pH since.
  /// So a limit that trips earlier never latches later.
  struct AtRest {
    Instant since;
    PhChange lowest;
  };
  std::optional<AtRest> climb_at_rest;
  bool climb_goes_on_latched = false;
  bool risen_tripped = false;
  std::optional<Instant> residual_unseen_since, rise_unseen_since;
  std::optional<Instant> disagree_since;
  bool disagreement_tripped = false;
  bool effect_too_large_latched = false;
  std::optional<double> effect_seen;  ///< when it was latched
  bool second_ceiling_latched = false;
  bool pump_timer_latched = false;
  bool pump_stuck_latched = false;
  bool stirrer_stuck_latched = false;
  bool pump_found_latched = false;
  bool stirrer_found_latched = false;
  bool switched_off_latched = false;
  bool record_latched = false;               ///< what else was latched is not known
  std::vector<std::string> unknown_latches;  ///< codes that no rule of ours has
  std::optional<Instant> good_since;         ///< both probes good without a break since
  bool proven = false;
};

/// Everything in the memory that waits for a person, with the hold that it makes.
struct Latch {
  bool Memory::*latched;
  Hold hold;
};
[[nodiscard]] const std::vector<Latch>& latches();

/// The verdict on dosing: no holds means open.
struct Judgement {
  Holds holds;
  Memory memory;

  [[nodiscard]] bool open() const { return holds.empty(); }
  /// Whether a pulse that runs must end.
  [[nodiscard]] bool ends_pulse() const;
};

/// Judges every rule, in full: all holds are named, not the first. Pure; any thread.
/// Errors: none. Whatever is absent, NaN, too old or from the future holds.
[[nodiscard]] Judgement judge(Instant now, const Snapshot& known, const Limits& limits,
                              const Memory& memory);

/// The most that may be given at once, and within an hour, at the present water. Without a known
/// response that is what the limits say; a response that makes no sense permits nothing.
[[nodiscard]] Millilitres volume_within(PhChange rise, const std::optional<PhChange>& per_ml,
                                        Millilitres limit);

/// Whether one raw pH value alone must end a pulse: it is plausible and not below the ceiling.
/// (An implausible value does not count here; the next step holds for it.)
[[nodiscard]] bool raw_ph_closes(double raw, const Limits& limits);

}  // namespace limegate::rules
