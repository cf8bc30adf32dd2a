#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include <nlohmann/json.hpp>
#include <tl/expected.hpp>

#include "app/asking.h"
#include "care/book.h"
#include "web/control_client.h"

namespace limegate::app {

// A station and its keeper's book, asked of a running daemon.

/// A running daemon that was reached, and the station that is meant.
struct Reached {
  web::ControlClient client;
  std::string station;
};

/// Error: the ExitCode, once it was said why.
[[nodiscard]] tl::expected<Reached, int> reach(const Meant& meant);

/// The station as `limegate status --json` shows it, and the daemon's time as its "time". Error: as
/// above.
[[nodiscard]] tl::expected<nlohmann::json, int> station_shown(Reached& daemon);

/// Everything in the book after an entry, as the socket shows it. Error: as above.
[[nodiscard]] tl::expected<std::vector<nlohmann::json>, int> entries_after(Reached& daemon,
                                                                           std::int64_t number);
/// Whether all that was written down is on the disk by now, or soon.
[[nodiscard]] bool all_written(Reached& daemon);
/// The entries of these that stand, as they were written; what can't be understood is left out.
[[nodiscard]] care::Book standing_of(const std::vector<nlohmann::json>& entries);
[[nodiscard]] care::Written row_of(const nlohmann::json& entry);
[[nodiscard]] bool was_undone(const nlohmann::json& entry);

}  // namespace limegate::app
