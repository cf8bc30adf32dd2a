#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <vector>

#include "journal/course.h"
#include "journal/database.h"
#include "units/time.h"

namespace limegate::journal {

/// How often each kind of event was told, since the record was begun: over restarts, and also of
/// events that are too old to stand there.
struct Counts {
  struct Count {
    std::string station;  ///< empty: the daemon itself
    std::string code;
    std::string about;  ///< the bus (station::Event); empty: none
    std::int64_t times = 0;
  };
  WallTime since;  ///< a later one than before: the record was lost
  std::vector<Count> all;
  /// Since when the ledger knows each station; empty where it can't be read.
  std::map<std::string, WallTime> stations;
};

/// Reads them beside whoever writes. Errors: the readings are not there or can't be read.
[[nodiscard]] Stored<Counts> read_counts(const RecordFiles& files);

}  // namespace limegate::journal
