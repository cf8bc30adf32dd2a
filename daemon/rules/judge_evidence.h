#pragma once

#include <optional>

#include "rules/judge.h"

/// No evidence, no dose: the parts of `judge` that ask whether enough is known. Pure.
namespace limegate::rules {

/// Limewater is clear only when the stirrer has rested for the settle time.
void judge_stirrer(Instant now, const Snapshot& known, const Limits& limits, Holds& holds);
/// `flowing_for` = since when limewater may flow; absent while none may.
void judge_reading(Role role, const signal::Reading& reading,
                   const std::optional<Duration>& flowing_for, const Limits& limits, Holds& holds);
/// Proven once, a station stays proven until the next start: later gaps have holds of their own.
void judge_proof(Instant now, const Snapshot& known, const Limits& limits, Judgement& out);

}  // namespace limegate::rules
