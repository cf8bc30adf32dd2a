#pragma once

#include "rules/judge.h"

/// The parts of `judge`, one family of holds after the other. Pure. Each stands in a source of its
/// own, beside the rows of its holds.
namespace limegate::rules {

/// Closing is quick. Opening is slow: only a good and undisturbed pH clears what was tripped.
[[nodiscard]] bool calm(Instant now, const Snapshot& known);

/// Limewater is clear only when the stirrer has rested for the settle time.
void judge_stirrer(Instant now, const Snapshot& known, const Limits& limits, Holds& holds);
/// No evidence, no dose. In `counting` the pH is that of the probe that shows more.
void judge_probes(Instant now, const Snapshot& known, const Snapshot& counting,
                  const Limits& limits, Judgement& out);
/// The pH, its changes, and what doses do to it.
void judge_water(Instant now, const Snapshot& counting, const Limits& limits, Judgement& out);
/// Outlets and the board's timer.
void judge_outlets(const Snapshot& known, Judgement& out);
/// What no measurement has to do with: what a person switched off, and what the record brought
/// along.
void judge_kept(Judgement& out);
/// How much may be given.
void judge_allowance(const Snapshot& known, const Limits& limits, Holds& holds);
/// Samples disturbed by a pulse or a stir open nothing.
void judge_disturbance(Instant now, const Snapshot& known, Holds& holds);
/// The keeper's own hold.
void judge_pause(Instant now, const Snapshot& known, Holds& holds);
/// What is not recorded is not dosed.
void judge_disk(Instant now, const Snapshot& known, Holds& holds);

}  // namespace limegate::rules
