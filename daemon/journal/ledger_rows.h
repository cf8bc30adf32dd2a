#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <tuple>

namespace limegate::journal {

// Rows as stored. Volumes in µL, durations and stamps in ms, wall clock in ms since 1970 UTC. Each
// names its table, its columns without the checksum, and its fields in their order.

struct PulseRow {
  static constexpr const char* kTable = "pulses";
  static constexpr const char* kColumns =
      "station, id, volume_ul, duration_ms, reserved_lifetime_ms, reserved_wall_ms, "
      "end_lifetime_ms, end_wall_ms, boot, fate, counted_ul";
  std::string station;
  std::int64_t id = 0;  ///< of what stands for a lost record: below zero, no pulse's number
  std::int64_t volume_ul = 0;
  std::int64_t duration_ms = 0;
  std::int64_t reserved_lifetime_ms = 0;
  std::int64_t reserved_wall_ms = 0;
  std::int64_t end_lifetime_ms = 0;
  std::int64_t end_wall_ms = 0;
  std::string boot;
  std::int64_t fate = 0;
  std::int64_t counted_ul = 0;
  auto fields() {
    return std::tie(station, id, volume_ul, duration_ms, reserved_lifetime_ms, reserved_wall_ms,
                    end_lifetime_ms, end_wall_ms, boot, fate, counted_ul);
  }
};

/// Read by no start any more: past.h.
struct PastPulseRow : PulseRow {
  static constexpr const char* kTable = "past_pulses";
};

/// Without an end it may be running still.
struct StirRow {
  static constexpr const char* kTable = "stirs";
  static constexpr const char* kColumns =
      "station, id, duration_ms, start_lifetime_ms, start_wall_ms, boot, end_lifetime_ms, "
      "end_wall_ms";
  std::string station;
  std::int64_t id = 0;
  std::int64_t duration_ms = 0;
  std::int64_t start_lifetime_ms = 0;
  std::int64_t start_wall_ms = 0;
  std::string boot;
  std::optional<std::int64_t> end_lifetime_ms;
  std::optional<std::int64_t> end_wall_ms;
  auto fields() {
    return std::tie(station, id, duration_ms, start_lifetime_ms, start_wall_ms, boot,
                    end_lifetime_ms, end_wall_ms);
  }
};

struct PastStirRow : StirRow {
  static constexpr const char* kTable = "past_stirs";
};

/// What a station's pulses and stirs of a day came to, once they are no rows any more. The day is
/// the one that the wall clock showed then.
struct DayRow {
  static constexpr const char* kTable = "days";
  static constexpr const char* kColumns =
      "station, day, pulses, volume_ul, found_ul, stirs, unreadable";
  std::string station;
  std::int64_t day = 0;         ///< since 1970, UTC
  std::int64_t pulses = 0;      ///< of which something was given
  std::int64_t volume_ul = 0;   ///< as it was counted
  std::int64_t found_ul = 0;    ///< that may have flowed while somebody else had the pump on
  std::int64_t stirs = 0;       ///< that ended
  std::int64_t unreadable = 0;  ///< rows that were damaged: they are in no number of these
  auto fields() { return std::tie(station, day, pulses, volume_ul, found_ul, stirs, unreadable); }
};

struct StationRow {
  static constexpr const char* kTable = "stations";
  static constexpr const char* kColumns = "name, added_wall_ms, whole_to";
  std::string name;
  std::int64_t added_wall_ms = 0;
  std::int64_t whole_to = 0;  ///< numbers of pulses up to here may be missing: that was counted
  auto fields() { return std::tie(name, added_wall_ms, whole_to); }
};

/// Where the ledger lives: one row.
struct HomeRow {
  static constexpr const char* kTable = "home";
  static constexpr const char* kColumns = "machine, path";
  std::string machine, path;
  auto fields() { return std::tie(machine, path); }
};

struct BootRow {
  static constexpr const char* kTable = "boots";
  static constexpr const char* kColumns = "id, lifetime_before_ms";
  std::string id;
  std::int64_t lifetime_before_ms = 0;
  auto fields() { return std::tie(id, lifetime_before_ms); }
};

struct LatchRow {
  static constexpr const char* kTable = "latches";
  static constexpr const char* kColumns = "station, code, since_wall_ms";
  std::string station, code;
  std::int64_t since_wall_ms = 0;
  auto fields() { return std::tie(station, code, since_wall_ms); }
};

struct WishRow {
  static constexpr const char* kTable = "wishes";
  static constexpr const char* kColumns =
      "station, what, volume_ul, lasting_ms, asked_lifetime_ms, asked_wall_ms";
  std::string station;
  std::int64_t what = 0;
  std::int64_t volume_ul = 0;
  std::int64_t lasting_ms = 0;
  std::int64_t asked_lifetime_ms = 0;
  std::int64_t asked_wall_ms = 0;
  auto fields() {
    return std::tie(station, what, volume_ul, lasting_ms, asked_lifetime_ms, asked_wall_ms);
  }
};

/// So often a station's latches and wishes have changed. SQLite itself counts, with each change.
inline constexpr const char* kKeptChanges = "kept_changes";

/// The day's volume in force from then on.
struct VolumeRow {
  static constexpr const char* kTable = "volumes";
  static constexpr const char* kColumns = "station, since_lifetime_ms, since_wall_ms, volume_ul";
  std::string station;
  std::int64_t since_lifetime_ms = 0;
  std::int64_t since_wall_ms = 0;
  std::int64_t volume_ul = 0;
  auto fields() { return std::tie(station, since_lifetime_ms, since_wall_ms, volume_ul); }
};

}  // namespace limegate::journal
