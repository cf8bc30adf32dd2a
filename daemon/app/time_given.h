#pragma once

#include <string>

#include <tl/expected.hpp>

#include "units/time.h"

namespace limegate::app {

/// A time on the command line, as RFC 3339 writes it; `otherwise` where the text is empty.
/// Error: what is wrong and how to write it, in a sentence without its full stop.
[[nodiscard]] tl::expected<WallTime, std::string> time_given(const char* option,
                                                             const std::string& text,
                                                             WallTime otherwise);

}  // namespace limegate::app
