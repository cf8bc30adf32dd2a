#pragma once

#include <algorithm>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "dosing/account.h"
#include "journal/ledger_rows.h"
#include "journal/stored_row.h"
#include "journal/stored_units.h"
#include "station/records.h"

namespace limegate::journal {

// What is asked of rows that are moved between the tables of now and of the past (past.h).

[[nodiscard]] inline bool is_given(const PulseRow& row) {
  const auto fate = static_cast<station::Fate>(row.fate);
  return row.counted_ul > 0 && (fate == station::Fate::given || fate == station::Fate::cut_short);
}

[[nodiscard]] inline std::int64_t began_ms(const PulseRow& row) { return row.reserved_lifetime_ms; }
[[nodiscard]] inline std::int64_t began_ms(const StirRow& row) { return row.start_lifetime_ms; }
[[nodiscard]] inline std::int64_t began_wall_ms(const PulseRow& row) {
  return row.reserved_wall_ms;
}
[[nodiscard]] inline std::int64_t began_wall_ms(const StirRow& row) { return row.start_wall_ms; }

/// When it surely was over; absent: it was never closed.
[[nodiscard]] inline std::optional<std::int64_t> ended_ms(const PulseRow& row) {
  return static_cast<station::Fate>(row.fate) == station::Fate::open
             ? std::nullopt
             : std::optional{std::max(row.end_lifetime_ms, row.reserved_lifetime_ms)};
}
[[nodiscard]] inline std::optional<std::int64_t> ended_ms(const StirRow& row) {
  return row.end_lifetime_ms;
}

/// Whether it ended so long before.
template <class Row>
[[nodiscard]] bool over_for(const Row& row, Duration least, dosing::Stamp now) {
  const auto ended = ended_ms(row);
  return ended && dosing::age({duration_of(*ended), {}}, now) >= least;
}

/// The stations that have rows in the table, also under a name that damage made.
template <class Row>
[[nodiscard]] Stored<std::vector<std::string>> stations_in(const Database& database) {
  std::vector<std::string> stations;
  // From one name to the next: not a row between them is read.
  const auto next = database.prepare(std::string{"SELECT station FROM "} + Row::kTable +
                                     " WHERE station > ?1 ORDER BY station LIMIT 1");
  for (;;) {
    next->bind(stations.empty() ? std::string{} : stations.back());
    const auto found = next->next();
    if (!found) {
      return tl::unexpected(found.error());
    }
    if (!*found) {
      return stations;
    }
    stations.push_back(next->text(0));
  }
}

}  // namespace limegate::journal
