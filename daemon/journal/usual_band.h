#pragma once

#include <array>
#include <cstdint>
#include <map>
#include <optional>
#include <string>

#include "journal/database.h"

namespace limegate::journal {

/// Between what and what pH was at a time of day, as the record has it: of the days before, all but
/// the lowest and the highest.
struct UsualBand {
  double low = 0.0, high = 0.0;  ///< own scale
};
/// A quarter of an hour of the UTC day each. Absent where less than seven of the days were seen.
using UsualDay = std::array<std::optional<UsualBand>, 96>;

/// What is usual, station by station; read anew once an hour of the time that is asked about, for
/// it reads the rows of fourteen days.   Threads: one owner.
class UsualDays {
 public:
  /// Of the fourteen days that ended a day before the last whole hour up to `until_s` (seconds
  /// since 1970), so that a day is not measured by itself. Errors: the record can't be read.
  [[nodiscard]] Stored<UsualDay> of(const Database& readings, const std::string& station,
                                    std::int64_t until_s);

 private:
  struct Known {
    std::int64_t until_s = 0;
    UsualDay day;
  };
  std::map<std::string, Known> known_;
};

}  // namespace limegate::journal
