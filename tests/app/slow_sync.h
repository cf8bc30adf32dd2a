#pragma once

#include <chrono>
#include <string>

namespace limegate::test {

/// Makes the disk of this process slow: each fsync and fdatasync of a file whose path has `part` in
/// it takes so long, from now on. (This program's own functions of these names stand in front of
/// the system's, also for SQLite.)
void slow_sync(std::chrono::milliseconds takes, const std::string& part);

/// The disk is as it is again.
void quick_sync();

/// How many syncs were slow.
[[nodiscard]] int slow_syncs();

}  // namespace limegate::test
