#pragma once

#include <optional>
#include <string_view>

#include "units/time.h"

namespace limegate {

/// A moment as RFC 3339, section 5.6 writes it: "2026-11-25T07:15:32Z", or with an offset such as
/// "+01:00", or with a fraction of a second. Absent: anything else, a day that no calendar has, a
/// time without an offset, years before 2000 or after 2199.
[[nodiscard]] std::optional<WallTime> parse_rfc3339(std::string_view text);

}  // namespace limegate
