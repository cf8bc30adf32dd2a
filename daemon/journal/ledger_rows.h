#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "journal/database.h"

namespace limegate::journal {

/// A pulse as stored. Volumes in µL, durations and stamps in ms, wall clock in ms since 1970 UTC.
struct PulseRow {
  std::string station;
  std::int64_t id = 0;
  std::int64_t volume_ul = 0;
  std::int64_t duration_ms = 0;
  std::int64_t reserved_lifetime_ms = 0;
  std::int64_t reserved_wall_ms = 0;
  std::int64_t end_lifetime_ms = 0;
  std::int64_t end_wall_ms = 0;
  std::string boot;
  std::int64_t fate = 0;
  std::int64_t counted_ul = 0;

  /// CRC-32 over all fields: a row that does not match was damaged on the disk.
  [[nodiscard]] std::int64_t checksum() const;
};

/// A stir as stored. Without an end it may be running still.
struct StirRow {
  std::string station;
  std::int64_t id = 0;
  std::int64_t duration_ms = 0;
  std::int64_t start_lifetime_ms = 0;
  std::int64_t start_wall_ms = 0;
  std::string boot;
  std::optional<std::int64_t> end_lifetime_ms;
  std::optional<std::int64_t> end_wall_ms;

  [[nodiscard]] std::int64_t checksum() const;
};

constexpr const char* kPulseColumns =
    "station, id, volume_ul, duration_ms, reserved_lifetime_ms, reserved_wall_ms, "
    "end_lifetime_ms, end_wall_ms, boot, fate, counted_ul, checksum";
constexpr const char* kStirColumns =
    "station, id, duration_ms, start_lifetime_ms, start_wall_ms, boot, end_lifetime_ms, "
    "end_wall_ms, checksum";

/// A row as read, and whether its checksum fits.
template <class Row>
struct Checked {
  Row row;
  bool sound = false;
};

/// Reads the current row of a statement that selects the columns above.
[[nodiscard]] Checked<PulseRow> pulse_from(const Statement& statement);
[[nodiscard]] Checked<StirRow> stir_from(const Statement& statement);

/// Inserts the row, or replaces the one with the same key.
[[nodiscard]] Stored<void> store(const Database& database, const PulseRow& row);
[[nodiscard]] Stored<void> store(const Database& database, const StirRow& row);

}  // namespace limegate::journal
