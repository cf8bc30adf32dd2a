#pragma once

#include <optional>

#include "rules/hold.h"
#include "rules/limits.h"
#include "rules/snapshot.h"

namespace limegate::rules {

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
