#pragma once

#include <string>

namespace limegate::journal {

/// How SQLite's write-ahead log stands before it is read. SQLite takes it up to the first frame
/// that does not fit its sum, and says nothing of what comes after.
enum class LogState {
  whole,       ///< or there is none
  unfinished,  ///< its newest transaction is not whole: cut off by a power cut, or damaged
  damaged,     ///< transactions that were synced can't be read any more
};

/// Looks through the log of the database at `path`; nobody may have it open. A log that can't be
/// read counts as whole: opening the database then fails by itself.
/// Source: "Database File Format", section 4, the write-ahead log (sqlite.org/fileformat2.html).
[[nodiscard]] LogState check_log(const std::string& path);

}  // namespace limegate::journal
