#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "alerts/record.h"

namespace limegate::alerts {

/// A record as it is stored; and back. A text that is none is no record.
[[nodiscard]] std::string json_of(const Record& record);
[[nodiscard]] std::optional<Record> record_of(std::string_view text);

}  // namespace limegate::alerts
