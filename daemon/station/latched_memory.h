#pragma once

#include <string>
#include <vector>

#include "rules/judge.h"

namespace limegate::station {

/// Adds to a memory what was latched. An owner's rule knows its own; any other code that no rule
/// has holds as it stands.
void add_latches(const std::vector<std::string>& codes, rules::Memory& memory);

}  // namespace limegate::station
