#pragma once

#include <nlohmann/json_fwd.hpp>

#include "station/status.h"

namespace limegate::web {

/// The overview for scripts: stable keys with units in their names, times in ISO 8601 (UTC),
/// durations in whole seconds, numbers rounded as a person reads them; what is missing is null.
/// limegate(1) has a table of every key. `version` rises once a key goes or means something else.
[[nodiscard]] nlohmann::json json_of(const station::Overview& overview);

}  // namespace limegate::web
