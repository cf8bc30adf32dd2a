#pragma once

#include <string>
#include <vector>

#include "app/event_stream.h"
#include "station/status.h"

namespace limegate::app {

/// A station for people who look for seconds: a few lines of plain text, each ending in '\n'.
[[nodiscard]] std::string view_of(const station::Status& status);

/// The whole daemon: its own alerts, then each station and an empty line.
[[nodiscard]] std::string view_of(const station::Overview& overview);

/// The newest `count` events, one line each.
[[nodiscard]] std::string view_of(const std::vector<Happened>& events, std::size_t count);

}  // namespace limegate::app
