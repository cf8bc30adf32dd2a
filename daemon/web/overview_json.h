#pragma once

#include <nlohmann/json_fwd.hpp>

#include "station/status.h"

namespace limegate::web {

/// The overview for scripts: stable keys with units in their names, times in ISO 8601 (UTC),
/// durations in seconds; what is missing is null.
[[nodiscard]] nlohmann::json json_of(const station::Overview& overview);

}  // namespace limegate::web
