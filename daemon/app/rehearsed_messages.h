#pragma once

#include <cstddef>

#include "rehearsal/outcome.h"

namespace limegate::app {

/// How many messages a rehearsed course would have sent to people, if nobody had seen any.
[[nodiscard]] std::size_t count_messages(const rehearsal::Outcome& outcome);

}  // namespace limegate::app
