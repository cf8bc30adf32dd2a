#pragma once

#include <string>

#include "station/status.h"

namespace limegate::mqtt {

// What of a station is a list, as JSON.

/// Who paused, and until when.
[[nodiscard]] std::string pauses_of(const station::Status& status);
/// Every reason that holds dosing.
[[nodiscard]] std::string holds_of(const station::Status& status);
/// Chores that are due.
[[nodiscard]] std::string upkeep_of(const station::Status& status);

}  // namespace limegate::mqtt
