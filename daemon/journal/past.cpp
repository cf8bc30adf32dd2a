#include "journal/past.h"

#include <type_traits>
#include <utility>

#include "journal/damaged_rows.h"
#include "journal/past_rows.h"

namespace limegate::journal {
namespace {

using station::Fate;

constexpr std::int64_t kDayMs = 86'400'000;

void add(const PulseRow& row, DayRow& day) {
  if (static_cast<Fate>(row.fate) == Fate::found) {
    day.found_ul += row.counted_ul;
  } else if (is_given(row)) {
    day.volume_ul += row.counted_ul;
    ++day.pulses;
  }
}
void add(const StirRow& /*row*/, DayRow& day) { ++day.stirs; }

/// What a start reads of a station, besides what is recent. Nothing else may be moved away.
std::string stays(const PulseRow& /*row*/) {
  const auto fate = [](Fate one) { return std::to_string(static_cast<std::int64_t>(one)); };
  return " AND fate <> " + fate(Fate::open) +
         " AND id < (SELECT max(id) FROM pulses WHERE station = ?1) AND id <> coalesce((SELECT "
         "max(id) FROM pulses WHERE station = ?1 AND counted_ul > 0 AND fate IN (" +
         fate(Fate::given) + ", " + fate(Fate::cut_short) + ")), 0)";
}
std::string stays(const StirRow& /*row*/) {
  return " AND end_lifetime_ms IS NOT NULL AND id < (SELECT max(id) FROM stirs WHERE station = ?1)";
}

Stored<void> in_one(const Database& database, const std::function<Stored<void>()>& work) {
  auto done = database.execute("BEGIN IMMEDIATE");
  done = done ? work() : done;
  done = done ? database.execute("COMMIT") : done;
  if (!done) {
    (void)database.execute("ROLLBACK");
  }
  return done;
}

/// Numbers up to here are in the past, and not missing. A damaged row of the station is not made
/// sound by this.
Stored<void> know_whole_to(const Database& database, const std::string& station, std::int64_t id) {
  const auto known = select<StationRow>(database, " WHERE name = ?1");
  known->bind(station);
  const auto found = known->next();
  if (!found || !*found) {
    return found ? Stored<void>{} : tl::unexpected(found.error());
  }
  auto [row, sound] = row_from<StationRow>(*known);
  if (!sound || row.whole_to >= id) {
    return {};
  }
  row.whole_to = id;
  return store(database, row);
}

template <class Row, class Past>
Stored<void> move_rows(const Database& database, const std::string& station, std::int64_t last) {
  const std::string rows = std::string{" FROM "} + Row::kTable +
                           " WHERE station = ?1 AND id > 0 AND id <= ?2" + stays(Row{});
  const std::string columns = std::string{Row::kColumns} + ", checksum";
  auto done = database
                  .prepare(std::string{"INSERT INTO "} + Past::kTable + "(" + columns +
                           ") SELECT " + columns + rows)
                  ->bind(station, last)
                  .run();
  done = done ? database.prepare("DELETE" + rows)->bind(station, last).run() : done;
  return done && std::is_same_v<Row, PulseRow> ? know_whole_to(database, station, last) : done;
}

/// Moves the oldest rows of one station that are not recent any more.
template <class Row, class Past>
Stored<Left> move(const Database& database, dosing::Stamp now) {
  const auto stations = stations_in<Row>(database);
  if (!stations) {
    return tl::unexpected(stations.error());
  }
  for (const std::string& station : *stations) {
    const auto rows =
        select<Row>(database, " WHERE station = ?1 AND id > 0" + stays(Row{}) +
                                  " ORDER BY id LIMIT " + std::to_string(kRowsAtOnce));
    rows->bind(station);
    std::int64_t last = 0;
    auto more = rows->next();
    for (; more && *more; more = rows->next()) {
      const auto [row, sound] = row_from<Row>(*rows);
      if (!sound || !over_for(row, kRecent, now)) {
        break;
      }
      last = row.id;
    }
    if (!more) {
      return tl::unexpected(more.error());
    }
    if (last > 0) {
      const auto done =
          in_one(database, [&] { return move_rows<Row, Past>(database, station, last); });
      return done ? Stored<Left>{Left::more} : tl::unexpected(done.error());
    }
  }
  return Left::nothing;
}

/// Rows of one day that become part of its sum.
template <class Past>
struct Batch {
  DayRow day;
  std::vector<std::int64_t> ids;
  std::vector<Past> damaged;
};

/// The oldest rows of a station, as far as they are of one day and 90 days old. Of a damaged row
/// the age is not known: it is as old as the sound ones behind it.
template <class Past>
Stored<Batch<Past>> oldest_of(const Database& database, const std::string& station,
                              dosing::Stamp now) {
  Batch<Past> batch;
  batch.day.station = station;
  std::vector<Past> doubtful;
  const auto rows = select<Past>(database, " WHERE station = ?1 ORDER BY id");
  rows->bind(station);
  auto more = rows->next();
  for (; more && *more && batch.ids.size() < kRowsAtOnce; more = rows->next()) {
    const auto [row, sound] = row_from<Past>(*rows);
    if (!sound) {
      doubtful.push_back(row);
      continue;
    }
    if (!ended_ms(row)) {
      continue;
    }
    const std::int64_t wall = began_wall_ms(row);
    const std::int64_t day = wall / kDayMs - (wall % kDayMs < 0 ? 1 : 0);
    if (!over_for(row, kRowsKept, now) || (!batch.ids.empty() && day != batch.day.day)) {
      break;
    }
    batch.day.day = day;
    batch.ids.push_back(row.id);
    add(row, batch.day);
    for (const Past& one : std::exchange(doubtful, {})) {
      batch.ids.push_back(one.id);
      batch.damaged.push_back(one);
      ++batch.day.unreadable;
    }
  }
  return more ? Stored<Batch<Past>>{std::move(batch)} : tl::unexpected(more.error());
}

Stored<void> add_to_day(const Database& database, DayRow day, WallTime now) {
  const auto known = select<DayRow>(database, " WHERE station = ?1 AND day = ?2");
  known->bind(day.station, day.day);
  const auto found = known->next();
  if (!found) {
    return tl::unexpected(found.error());
  }
  if (*found) {
    const auto [row, sound] = row_from<DayRow>(*known);
    if (!sound) {
      // How much it was is lost: the sum is begun anew and says that it is not whole.
      ++day.unreadable;
      auto noted = note_damaged(database, row, now);
      return noted ? store(database, day) : noted;
    }
    day.pulses += row.pulses;
    day.volume_ul += row.volume_ul;
    day.found_ul += row.found_ul;
    day.stirs += row.stirs;
    day.unreadable += row.unreadable;
  }
  return store(database, day);
}

template <class Past>
Stored<void> sum_up(const Database& database, const Batch<Past>& batch, WallTime now) {
  Stored<void> done;
  for (auto row = batch.damaged.begin(); done && row != batch.damaged.end(); ++row) {
    done = note_damaged(database, *row, now);
  }
  done = done ? add_to_day(database, batch.day, now) : done;
  const auto remove = database.prepare(std::string{"DELETE FROM "} + Past::kTable +
                                       " WHERE station = ?1 AND id = ?2");
  for (auto id = batch.ids.begin(); done && id != batch.ids.end(); ++id) {
    done = remove->bind(batch.day.station, *id).run();
  }
  return done;
}

/// Sums up the oldest rows of one station.
template <class Past>
Stored<Left> sum_up_oldest(const Database& database, dosing::Stamp now) {
  const auto stations = stations_in<Past>(database);
  if (!stations) {
    return tl::unexpected(stations.error());
  }
  for (const std::string& station : *stations) {
    const auto batch = oldest_of<Past>(database, station, now);
    if (!batch) {
      return tl::unexpected(batch.error());
    }
    if (!batch->ids.empty()) {
      const auto done = in_one(database, [&] { return sum_up<Past>(database, *batch, now.wall); });
      return done ? Stored<Left>{Left::more} : tl::unexpected(done.error());
    }
  }
  return Left::nothing;
}

}  // namespace

Stored<Left> tidy_once(const Database& database, dosing::Stamp now) {
  auto left = move<PulseRow, PastPulseRow>(database, now);
  left = left && *left == Left::nothing ? move<StirRow, PastStirRow>(database, now) : left;
  left = left && *left == Left::nothing ? sum_up_oldest<PastPulseRow>(database, now) : left;
  return left && *left == Left::nothing ? sum_up_oldest<PastStirRow>(database, now) : left;
}

}  // namespace limegate::journal
