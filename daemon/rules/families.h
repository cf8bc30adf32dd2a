#pragma once

#include <optional>

#include "rules/judge.h"

/// The parts of `judge`, one family of holds after the other. Pure. Each stands in a source of its
/// own, beside the rows of its holds.
namespace limegate::rules {

/// Closing is quick. Opening is slow: only a good and undisturbed pH clears what was tripped.
[[nodiscard]] bool calm(Instant now, const Snapshot& known);

// No evidence, no dose.
/// Limewater is clear only when the stirrer has rested for the settle time.
void judge_stirrer(Instant now, const Snapshot& known, const Limits& limits, Holds& holds);
/// `flowing_for` = since when limewater may flow; absent while none may.
void judge_reading(Role role, const signal::Reading& reading,
                   const std::optional<Duration>& flowing_for, const Limits& limits, Holds& holds);
/// Proven once, a station stays proven until the next start: later gaps have holds of their own.
void judge_proof(Instant now, const Snapshot& known, const Limits& limits, Judgement& out);
/// Of two pH probes. What was tripped clears only where it may.
void judge_agreement(Instant now, const Snapshot& known, const Limits& limits, bool may_clear,
                     Judgement& out);

// What the water does.
void judge_ph(Instant now, const Snapshot& known, const Limits& limits, Judgement& out);
/// Beside the usual course of the day: an unusual climb holds and clears by itself. One that goes
/// on while the pump rests is none of ours, and waits for a person. While it can't be seen, what
/// was tripped stays, for half a day.
void judge_residual(Instant now, const Snapshot& known, const Limits& limits, Judgement& out);
void judge_rise(Instant now, const Snapshot& known, const Limits& limits, Judgement& out);
void judge_effect(const Snapshot& known, const Limits& limits, Judgement& out);

/// Outlets and the board's timer.
void judge_outlets(const Snapshot& known, Judgement& out);
/// What no measurement has to do with: what a person switched off, and what the record brought
/// along.
void judge_kept(Judgement& out);
void judge_allowance(const Snapshot& known, const Limits& limits, Holds& holds);
/// Samples disturbed by a pulse or a stir open nothing.
void judge_disturbance(Instant now, const Snapshot& known, Holds& holds);
/// The keeper's own hold.
void judge_pause(Instant now, const Snapshot& known, Holds& holds);
/// What is not recorded is not dosed.
void judge_disk(Instant now, const Snapshot& known, Holds& holds);

}  // namespace limegate::rules
