#pragma once

#include <chrono>
#include <cstdint>
#include <functional>
#include <string>
#include <vector>

#include "dosing/account.h"
#include "journal/database.h"
#include "units/time.h"

namespace limegate::journal {

// The ledger's past: rows of pulses and stirs that no start needs any more. They are moved to
// tables of their own, of which a start reads one sum for display, within a bound, and after 90
// days they become a row a station and day, kept for ever. All of that is done in small
// transactions, each whole or not at all.

/// A row that ended so long ago may be moved: nothing that counts doses or stirs looks further back
/// than 24 h. Ages are observed uptime, which never exceeds the time that passed, so whatever the
/// wall clock says nothing is moved too early.
constexpr Duration kRecent = std::chrono::hours{48};
/// So long it stays a row.
constexpr Duration kRowsKept = std::chrono::hours{24 * 90};
/// Rows of one transaction: it takes the disk hardly longer than one row does.
constexpr std::size_t kRowsAtOnce = 300;

/// Whether another step would find something to do.
enum class Left { nothing, more };

/// One step, in one transaction: moves rows, or sums some up that are 90 days old. Of pulses it
/// leaves in their place the newest, the newest that was given, those that were never closed and
/// what stands for a lost record; of stirs the newest and those without an end. A row that does not
/// fit its sum is not moved, and not summed but counted as unreadable and noted.
/// Errors: `damaged` = the past can't be read; nothing was changed then.
[[nodiscard]] Stored<Left> tidy_once(const Database& database, dosing::Stamp now);

/// After an upgrade, when all rows are in the past: takes those back that a start needs.
[[nodiscard]] Stored<void> take_recent_back(const Database& database);

/// Reads the whole file on a connection of its own, as no start does, and says in sentences which
/// rows of the past do not fit their sums. May take minutes; gives up when `go_on` says no.
/// Errors: `damaged` = its structure is not sound, so nothing may be taken out of it.
[[nodiscard]] Stored<std::vector<std::string>> look_through(const std::string& path,
                                                            const std::function<bool()>& go_on);

}  // namespace limegate::journal
