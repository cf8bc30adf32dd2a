#pragma once

#include <optional>
#include <string>

#include <tl/expected.hpp>

#include "app/commission_station.h"
#include "care/commission_step.h"

namespace limegate::app {

// What a person at the terminal is led through. Nothing runs before the person's word; whatever was
// done is in the book before the next is begun.

/// What came of a step: its note. Absent: the person skips it.
/// Error: the ExitCode to leave with; the step is still open.
using Said = tl::expected<std::optional<std::string>, int>;

[[nodiscard]] Said conduct(care::Step step, CommissionStation& station);

// Those in which something runs, or a probe is watched.
[[nodiscard]] Said settle(CommissionStation& station);
[[nodiscard]] Said prime(CommissionStation& station);
[[nodiscard]] Said measure_rate(CommissionStation& station);
[[nodiscard]] Said check_probe(CommissionStation& station);

}  // namespace limegate::app
