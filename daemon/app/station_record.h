#pragma once

#include <optional>
#include <string>
#include <vector>

#include <tl/expected.hpp>

#include "journal/course.h"
#include "journal/happenings.h"
#include "journal/standing.h"
#include "units/time.h"

namespace limegate::app {

/// What the record of a station says of some whole days and the one that goes on.
struct StationRecord {
  WallTime from, until;  ///< from a midnight, UTC, to when it was read
  journal::Course course;
  journal::Course days;  ///< a step each
  journal::DayOfPh day_of_ph;
  std::vector<journal::Happenings::Held> holds;
  std::vector<journal::Happenings::Told> alerts;  ///< of the station and the daemon, by time
  /// Absent: the ledger can't be read, so neither is it known what was given.
  std::optional<journal::Standing> standing;
};

/// Reads it beside a running daemon, or without one; nothing is written. `count` of days = 1 or
/// more. Errors: the readings are not there or can't be read; one sentence.
[[nodiscard]] tl::expected<StationRecord, std::string> read_record(
    const journal::RecordFiles& files, const std::string& station, WallTime now, int count);

/// What is said where the readings can't be read.
[[nodiscard]] std::string unreadable(const journal::StorageError& error);

}  // namespace limegate::app
