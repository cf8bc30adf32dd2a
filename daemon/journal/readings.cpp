#include "journal/readings.h"

#include <chrono>
#include <cmath>
#include <filesystem>

#include "journal/stored_units.h"

namespace limegate::journal {
namespace {

// Thousandths of pH and hundredths of a degree as integers take two or three bytes each; rows in
// order of arrival keep the pages that change in one place.
constexpr const char* kCreate = R"sql(
CREATE TABLE IF NOT EXISTS readings(at_s INTEGER, station TEXT, ph_thousandths INTEGER,
  temperature_hundredths INTEGER, ph_quality TEXT, temperature_quality TEXT, gate_open INTEGER);
CREATE INDEX IF NOT EXISTS readings_at ON readings(at_s);
CREATE TABLE IF NOT EXISTS inputs(at_s INTEGER, station TEXT, input TEXT, value REAL,
  PRIMARY KEY(station, input, at_s)) WITHOUT ROWID;
DROP TABLE IF EXISTS newest;
CREATE TABLE IF NOT EXISTS seen(station TEXT PRIMARY KEY, boot TEXT, at_ms INTEGER, ph REAL,
  lowest REAL, left_at_ms INTEGER, left_ph REAL, left_value REAL, left_climb REAL,
  rests_since_ms INTEGER, rests_lowest REAL, risen INTEGER, disagreed INTEGER) WITHOUT ROWID;
CREATE TABLE IF NOT EXISTS unseen(station TEXT, id TEXT, sentence TEXT, since_ms INTEGER,
  PRIMARY KEY(station, id)) WITHOUT ROWID;
CREATE TABLE IF NOT EXISTS events(at_s INTEGER, station TEXT, severity INTEGER, code TEXT,
  sentence TEXT);
CREATE INDEX IF NOT EXISTS events_at ON events(at_s);
CREATE TABLE IF NOT EXISTS counts(station TEXT, code TEXT, about TEXT, times INTEGER,
  PRIMARY KEY(station, code, about)) WITHOUT ROWID;
CREATE TABLE IF NOT EXISTS counted_since(at_s INTEGER);
)sql";

/// A table that has other columns than ours takes no row, for ever. What one run
/// leaves to the next is begun anew; anything else is for a person to look at.
Stored<void> check_shape(const Database& database, const std::string& path) {
  const auto ours = Database::open(":memory:", Creating::yes, Sync::normal);
  if (auto made = ours ? ours->execute(kCreate) : tl::unexpected(ours.error()); !made) {
    return made;
  }
  for (const char* table :
       {"readings", "inputs", "events", "seen", "unseen", "counts", "counted_since"}) {
    const std::string columns = database.columns(table);
    if (columns.empty() || columns == ours->columns(table)) {
      continue;
    }
    if (!std::string_view{table}.ends_with("seen")) {
      return tl::unexpected(StorageError{StorageFault::damaged,
                                         path + " has a table " + table + " of another shape"});
    }
    if (auto dropped = database.execute(("DROP TABLE " + std::string{table}).c_str()); !dropped) {
      return dropped;
    }
  }
  return {};
}

/// Once in the life of a record.
Stored<void> begin_counting(const Database& database, WallTime now) {
  return database
      .prepare("INSERT INTO counted_since SELECT ?1 WHERE NOT EXISTS (SELECT 1 FROM counted_since)")
      ->bind(seconds_of(now))
      .run();
}

std::optional<std::int64_t> scaled(const std::optional<double>& value, double factor) {
  if (!value) {
    return std::nullopt;
  }
  return std::llround(*value * factor);
}

}  // namespace

std::string Readings::set_aside(const std::string& path, WallTime now) {
  std::error_code failed;
  const std::string aside = path + ".damaged-" + std::to_string(seconds_of(now));
  for (const char* suffix : {"", "-wal", "-shm"}) {
    std::error_code ignored;  // of a log that is not there
    std::filesystem::rename(path + suffix, aside + suffix, *suffix == '\0' ? failed : ignored);
  }
  return failed ? std::string{} : aside;
}

Stored<Readings> Readings::open(const std::string& path, WallTime now) {
  const auto attempt = [&]() -> Stored<Readings> {
    auto database = Database::open(path, Creating::yes, Sync::normal);
    if (!database) {
      return tl::unexpected(database.error());
    }
    auto done = check_shape(*database, path);
    done = done ? database->execute(kCreate) : done;
    done = done ? begin_counting(*database, now) : done;
    if (!done) {
      return tl::unexpected(done.error());
    }
    Readings readings{std::move(*database)};
    done = readings.in_transaction([&] { return begin_levels(readings.database_); });
    return done ? Stored<Readings>{std::move(readings)} : tl::unexpected(done.error());
  };
  auto readings = attempt();
  if (!readings && readings.error().fault == StorageFault::damaged) {
    const std::string aside = set_aside(path, now);
    readings = attempt();
    if (readings) {
      readings->set_aside_as_ = aside;
    }
  }
  return readings;
}

/// What stays as it is is written each ten minutes, so that an SD card lives.
Stored<void> Readings::write_inputs(const ReadingRow& row) {
  constexpr std::chrono::minutes again{10};
  for (const auto& [input, value] : row.more) {
    auto& [at, last] = inputs_[{row.station, input}];
    if (last == value && row.at - at < again && row.at >= at) {
      continue;
    }
    at = row.at;
    last = value;
    if (auto done = database_.prepare("INSERT OR REPLACE INTO inputs VALUES(?1,?2,?3,?4)")
                        ->bind(seconds_of(row.at), row.station, input, value)
                        .run();
        !done) {
      return done;
    }
  }
  return {};
}

Stored<void> Readings::write(const std::vector<ReadingRow>& rows, const Events& events) {
  const auto reading = database_.prepare("INSERT INTO readings VALUES(?1,?2,?3,?4,?5,?6,?7)");
  for (const ReadingRow& row : rows) {
    if (auto done = reading
                        ->bind(seconds_of(row.at), row.station, scaled(row.ph, 1000),
                               scaled(row.temperature, 100), row.ph_quality,
                               row.temperature_quality, std::int64_t{row.gate_open})
                        .run();
        !done) {
      return done;
    }
    if (auto done = write_inputs(row); !done) {
      return done;
    }
    if (auto done = row.seen ? write(row.station, *row.seen) : Stored<void>{}; !done) {
      return done;
    }
  }
  return write(events);
}

Stored<void> Readings::write(const Events& events) {
  const auto event = database_.prepare("INSERT INTO events VALUES(?1,?2,?3,?4,?5)");
  const auto count = database_.prepare(
      "INSERT INTO counts VALUES(?1,?2,?3,1) ON CONFLICT DO UPDATE SET times = times + 1");
  for (const auto& [station, what] : events) {
    auto done = event
                    ->bind(seconds_of(what.at), station, static_cast<std::int64_t>(what.severity),
                           what.code, what.sentence)
                    .run();
    done = done ? count->bind(station, what.code, what.about).run() : done;
    if (!done) {
      return done;
    }
  }
  return {};
}

Stored<void> Readings::append(const std::vector<ReadingRow>& rows, const Events& events) {
  const auto done = in_transaction([&] { return write(rows, events); });
  return done && summing_ == Summing::goes_on ? in_transaction([&] { return sum_up(); }) : done;
}

Stored<void> Readings::sum_up() {
  const auto summed = sum_up_older(database_);
  summing_ = summed.value_or(Summing::goes_on);
  return summed ? Stored<void>{} : tl::unexpected(summed.error());
}

Stored<void> Readings::in_transaction(const std::function<Stored<void>()>& write) {
  if (auto begun = database_.execute("BEGIN IMMEDIATE"); !begun) {
    return begun;
  }
  auto done = write();
  done = done ? database_.execute("COMMIT") : done;
  if (!done) {
    // Also a commit that failed leaves the transaction open.
    (void)database_.execute("ROLLBACK");
  }
  return done;
}

Stored<Readings::Events> Readings::take_unseen() {
  Events unseen;
  const auto row =
      database_.prepare("SELECT station, id, sentence, since_ms FROM unseen ORDER BY since_ms");
  auto more = row->next();
  for (; more && *more; more = row->next()) {
    unseen.emplace_back(row->text(0),
                        station::Event{wall_of(row->integer(3)), station::Severity::alert,
                                       row->text(1), row->text(2)});
  }
  const auto gone = more ? database_.execute("DELETE FROM unseen") : tl::unexpected(more.error());
  return gone ? Stored<Events>{std::move(unseen)} : tl::unexpected(gone.error());
}

Stored<std::vector<Readings::Told>> Readings::alert_history(const std::string& path,
                                                            WallTime since) {
  const auto database = Database::beside(path);
  if (!database) {
    return tl::unexpected(database.error());
  }
  std::vector<Told> history;
  const auto row = database->prepare(
      "SELECT at_s, station, code, sentence FROM events WHERE at_s >= ?1 AND (severity = ?2 OR "
      "code LIKE 'cleared-%' OR code LIKE '%resumed' OR (code = 'command' AND (sentence LIKE '%: "
      "acknowledge.%' OR sentence LIKE '%: shelve.%' OR sentence LIKE '%: release.%'))) ORDER BY "
      "rowid");
  row->bind(seconds_of(since), static_cast<std::int64_t>(station::Severity::alert));
  auto more = row->next();
  for (; more && *more; more = row->next()) {
    history.push_back({WallTime{std::chrono::seconds{row->integer(0)}}, row->text(1), row->text(2),
                       row->text(3)});
  }
  return more ? Stored<std::vector<Told>>{std::move(history)} : tl::unexpected(more.error());
}

Stored<void> Readings::write(const std::string& station, const ReadingRow::Seen& seen) {
  const auto at = [](Instant instant) { return ms(instant.time_since_epoch()); };
  const auto& [ph, left, rests, risen, disagreed] = seen.before;
  std::optional<std::int64_t> left_at, rests_since;
  // Where there is none, the numbers mean nothing.
  double left_ph = 0.0, left_value = 0.0, left_climb = 0.0, rests_lowest = 0.0;
  if (left) {
    left_at = at(left->at);
    left_ph = left->value.count();
    left_value = left->residual.value.count();
    left_climb = left->residual.climb.count();
  }
  if (rests) {
    rests_since = at(rests->since);
    rests_lowest = rests->lowest.count();
  }
  return database_
      .prepare("INSERT OR REPLACE INTO seen VALUES(?1,?2,?3,?4,?5,?6,?7,?8,?9,?10,?11,?12,?13)")
      ->bind(station, seen.boot, at(ph.at), ph.value, ph.lowest, left_at, left_ph, left_value,
             left_climb, rests_since, rests_lowest, std::int64_t{risen}, std::int64_t{disagreed})
      .run();
}

Stored<std::optional<station::SeenBefore>> Readings::seen(const std::string& station,
                                                          const std::string& boot) const {
  const auto row = database_.prepare(
      "SELECT at_ms, ph, lowest, left_at_ms, left_ph, left_value, left_climb, rests_since_ms, "
      "rests_lowest, risen, disagreed FROM seen WHERE station = ?1 AND boot = ?2");
  row->bind(station, boot);
  const auto found = row->next();
  if (!found) {
    return tl::unexpected(found.error());
  }
  if (!*found) {
    return std::nullopt;
  }
  const auto instant = [&](int column) { return Instant{duration_of(row->integer(column))}; };
  const auto change = [&](int column) { return PhChange{row->real(column)}; };
  station::SeenBefore seen{{instant(0), row->real(1), row->real(2)}};
  if (row->maybe_integer(3)) {
    seen.left = {instant(3), Ph{row->real(4)}, {change(5), change(6)}};
  }
  if (row->maybe_integer(7)) {
    seen.climb_at_rest = {instant(7), change(8)};
  }
  seen.risen = row->integer(9) != 0;
  seen.disagreed = row->integer(10) != 0;
  return seen;
}

Stored<void> Readings::thin_out(WallTime now, const Retention& retention) {
  const std::int64_t fine = seconds_of(now - retention.fine) / kTenMinutes * kTenMinutes;
  const std::int64_t coarse = seconds_of(now - retention.coarse);
  const auto drop = [&](const char* what, std::int64_t before) {
    return database_.prepare("DELETE FROM " + std::string{what})->bind(before).run();
  };
  if (summing_ == Summing::goes_on) {
    // What goes must be in its sums first.
    auto summed = in_transaction([&] { return sum_up(); });
    if (!summed || summing_ == Summing::goes_on) {
      return summed;
    }
  }
  return in_transaction([&] {
    auto done = drop("readings WHERE at_s < ?1", fine);
    done = done ? drop("levels WHERE length < 600 AND at_s < ?1", fine) : done;
    done = done ? drop("levels WHERE length IN (600, 7200) AND at_s < ?1", coarse) : done;
    // Of the inputs one value for each ten minutes stays.
    done = done ? drop(
                      "inputs WHERE at_s < ?1 AND at_s NOT IN (SELECT min(at_s) FROM inputs AS "
                      "one WHERE one.station = inputs.station AND one.input = inputs.input AND "
                      "one.at_s / 600 = inputs.at_s / 600)",
                      fine)
                : done;
    done = done ? drop("inputs WHERE at_s < ?1", coarse) : done;
    return done ? drop("events WHERE at_s < ?1", seconds_of(now - retention.events)) : done;
  });
}

}  // namespace limegate::journal
