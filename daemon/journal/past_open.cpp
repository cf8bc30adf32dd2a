// The past seen from outside of it: what an upgrade takes back, and a look through the whole file.

#include <limits>
#include <type_traits>

#include "journal/past.h"
#include "journal/past_rows.h"

namespace limegate::journal {
namespace {

/// The number from which on a station's rows are needed: down to one that is known to have been
/// given, or of a stir to have ended, and was over for long when the newest row began. The lowest
/// number there is, if there is no such row.
template <class Past>
Stored<std::int64_t> needed_from(const Database& database, const std::string& station) {
  const auto rows = select<Past>(database, " WHERE station = ?1 ORDER BY id DESC");
  rows->bind(station);
  std::optional<dosing::Stamp> newest;
  auto more = rows->next();
  for (; more && *more; more = rows->next()) {
    const auto [row, sound] = row_from<Past>(*rows);
    if (!sound) {
      continue;  // the start finds it
    }
    newest = newest ? newest : dosing::Stamp{duration_of(began_ms(row)), {}};
    bool last = over_for(row, kRecent, *newest);
    if constexpr (std::is_same_v<Past, PastPulseRow>) {
      last = last && is_given(row);
    }
    if (last) {
      return row.id;
    }
  }
  return more ? Stored<std::int64_t>{std::numeric_limits<std::int64_t>::min()}
              : tl::unexpected(more.error());
}

template <class Row, class Past>
Stored<void> take_back(const Database& database) {
  const auto stations = stations_in<Past>(database);
  Stored<void> done = stations ? Stored<void>{} : tl::unexpected(stations.error());
  const std::string columns = std::string{Row::kColumns} + ", checksum";
  for (std::size_t i = 0; done && i < stations->size(); ++i) {
    const std::string& station = (*stations)[i];
    const auto from = needed_from<Past>(database, station);
    done = from ? done : tl::unexpected(from.error());
    // What stands for a lost record has numbers below zero.
    for (const char* which : {" AND id >= ?2", " AND id <= 0 AND id < ?2"}) {
      const std::string rows =
          std::string{" FROM "}.append(Past::kTable).append(" WHERE station = ?1").append(which);
      const std::string copy = std::string{"INSERT INTO "}
                                   .append(Row::kTable)
                                   .append("(")
                                   .append(columns)
                                   .append(") SELECT ")
                                   .append(columns)
                                   .append(rows);
      done = done ? database.prepare(copy)->bind(station, from.value_or(0)).run() : done;
      done = done ? database.prepare("DELETE" + rows)->bind(station, from.value_or(0)).run() : done;
    }
  }
  return done;
}

/// Appends a sentence if rows of the table do not fit their sums.
template <class Row>
Stored<void> look_at(const Database& database, const std::function<bool()>& go_on,
                     std::vector<std::string>& notes) {
  std::int64_t damaged = 0;
  const auto rows = select<Row>(database);
  auto more = rows->next();
  for (; more && *more && go_on(); more = rows->next()) {
    damaged += row_from<Row>(*rows).sound ? 0 : 1;
  }
  if (damaged > 0) {
    notes.push_back("Of the ledger's table " + std::string{Row::kTable} +
                    ", rows are damaged: " + std::to_string(damaged) +
                    ". They are of days that are long over: no dose depends on them, and what was "
                    "given then is known no more. Look after the disk.");
  }
  return more ? Stored<void>{} : tl::unexpected(more.error());
}

}  // namespace

Stored<void> take_recent_back(const Database& database) {
  auto done = take_back<PulseRow, PastPulseRow>(database);
  return done ? take_back<StirRow, PastStirRow>(database) : done;
}

Stored<std::vector<std::string>> look_through(const std::string& path,
                                              const std::function<bool()>& go_on) {
  const auto database = Database::open(path, Creating::no, Sync::normal);
  if (!database) {
    return tl::unexpected(database.error());
  }
  std::vector<std::string> notes;
  auto done = database->check();
  done = done ? look_at<PastPulseRow>(*database, go_on, notes) : done;
  done = done ? look_at<PastStirRow>(*database, go_on, notes) : done;
  done = done ? look_at<DayRow>(*database, go_on, notes) : done;
  return done ? Stored<std::vector<std::string>>{std::move(notes)} : tl::unexpected(done.error());
}

}  // namespace limegate::journal
