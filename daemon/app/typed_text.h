#pragma once

#include <string_view>

namespace limegate::app {

/// Why a text that a person gave can't be handed on and shown as it is: "is not valid UTF-8",
/// "holds a control character". Null: it can.
[[nodiscard]] const char* objection_to_text(std::string_view typed);

}  // namespace limegate::app
