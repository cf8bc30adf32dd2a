#pragma once

#include <optional>

#include "guard/record.h"
#include "station/history.h"

namespace limegate::shell {

// The guard's record as a second copy of what must not be lost with the ledger, and back.

/// Absent where the guard's record is missing or damaged.
[[nodiscard]] std::optional<station::SecondCopy> second_copy_of(
    const std::optional<guard::Record>& record);

[[nodiscard]] guard::Kept kept_of(const station::History& history);
[[nodiscard]] guard::Kept::Wish kept_of(const station::Wish& wish);

}  // namespace limegate::shell
