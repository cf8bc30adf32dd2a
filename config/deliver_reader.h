#pragma once

#include <string>
#include <vector>

#include "alerts/destination.h"
#include "config/table_reader.h"

namespace limegate::config {

/// Reads [deliver]. Warnings are what is allowed and should be known.
[[nodiscard]] alerts::Delivery read_deliver(TableReader& reader,
                                            std::vector<std::string>& warnings);

}  // namespace limegate::config
