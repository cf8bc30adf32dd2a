#pragma once

#include <string>

#include "care/advice.h"

namespace limegate::app {

/// Advice as one JSON object, in whose keys the units stand; null is what can't be known.
[[nodiscard]] std::string json_of(const care::Advice& advice, const std::string& station,
                                  const care::Asked& asked);

/// The same as a keeper reads it.
[[nodiscard]] std::string page_of(const care::Advice& advice, const std::string& station,
                                  const care::Asked& asked);

}  // namespace limegate::app
