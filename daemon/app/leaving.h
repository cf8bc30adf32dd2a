#pragma once

#include <string>
#include <vector>

#include <nlohmann/json.hpp>

#include "units/time.h"

namespace limegate::app {

/// What a keeper who goes away for so long should know and mend before, in sentences; empty:
/// nothing. `status` is the station as the control socket shows it, `ways` how many ways there are
/// by which an alert reaches a person.
[[nodiscard]] std::vector<std::string> before_leaving(const nlohmann::json& status,
                                                      Duration lasting, double share,
                                                      std::size_t ways);

}  // namespace limegate::app
