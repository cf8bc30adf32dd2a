#pragma once

#include <optional>

#include <tl/expected.hpp>

#include "app/asking.h"
#include "care/book_reader.h"
#include "config/config.h"
#include "units/time.h"

namespace limegate::app {

/// The book of a running daemon's station: what the keeper wrote down, and what the record says was
/// given in each whole day (UTC) of the last 150.
struct StationBook {
  care::ReadBook read;
  WallTime now;  ///< by the daemon's clock
};
/// Until then; absent: until now.
/// Error: the ExitCode, once it was said why.
[[nodiscard]] tl::expected<StationBook, int> station_book(const Meant& meant,
                                                          const config::Config& config,
                                                          std::optional<WallTime> until);

}  // namespace limegate::app
