#include <algorithm>
#include <chrono>
#include <filesystem>

#include "journal/ledger.h"
#include "journal/ledger_rows.h"
#include "journal/stored_units.h"

namespace limegate::journal {
namespace {

constexpr std::int64_t kSchema = 5;

constexpr const char* kCreate = R"sql(
BEGIN IMMEDIATE;
CREATE TABLE IF NOT EXISTS stations(name TEXT PRIMARY KEY, added_wall_ms INTEGER) WITHOUT ROWID;
CREATE TABLE IF NOT EXISTS boots(id TEXT PRIMARY KEY, lifetime_before_ms INTEGER) WITHOUT ROWID;
CREATE TABLE IF NOT EXISTS pulses(station TEXT, id INTEGER, volume_ul INTEGER, duration_ms INTEGER,
  reserved_lifetime_ms INTEGER, reserved_wall_ms INTEGER, end_lifetime_ms INTEGER,
  end_wall_ms INTEGER, boot TEXT, fate INTEGER, counted_ul INTEGER, checksum INTEGER,
  PRIMARY KEY(station, id)) WITHOUT ROWID;
CREATE TABLE IF NOT EXISTS stirs(station TEXT, id INTEGER, duration_ms INTEGER,
  start_lifetime_ms INTEGER, start_wall_ms INTEGER, boot TEXT, end_lifetime_ms INTEGER,
  end_wall_ms INTEGER, checksum INTEGER, PRIMARY KEY(station, id)) WITHOUT ROWID;
CREATE TABLE IF NOT EXISTS latches(station TEXT, code TEXT, since_wall_ms INTEGER,
  PRIMARY KEY(station, code)) WITHOUT ROWID;
CREATE TABLE IF NOT EXISTS wishes(station TEXT, what INTEGER, volume_ul INTEGER,
  lasting_ms INTEGER, asked_lifetime_ms INTEGER, asked_wall_ms INTEGER,
  PRIMARY KEY(station, what)) WITHOUT ROWID;
CREATE TABLE IF NOT EXISTS damaged(found_wall_ms INTEGER, what TEXT, station TEXT, id INTEGER);
CREATE TABLE IF NOT EXISTS usual_course(station TEXT, quarter INTEGER, mean REAL, days INTEGER,
  PRIMARY KEY(station, quarter)) WITHOUT ROWID;
CREATE TABLE IF NOT EXISTS dose_effect(station TEXT PRIMARY KEY, share REAL, days INTEGER)
  WITHOUT ROWID;
CREATE TABLE IF NOT EXISTS reference(station TEXT PRIMARY KEY, ph REAL, share REAL,
  changed_lifetime_ms INTEGER, changed_wall_ms INTEGER) WITHOUT ROWID;
CREATE TABLE IF NOT EXISTS volumes(station TEXT, since_lifetime_ms INTEGER, since_wall_ms INTEGER,
  volume_ul INTEGER, PRIMARY KEY(station, since_lifetime_ms)) WITHOUT ROWID;
PRAGMA user_version = 5;
COMMIT;
)sql";

/// Moves the file and its write-ahead log aside, under a name that is free.
Stored<std::string> set_aside(const std::string& path, Moment now) {
  const auto seconds =
      std::chrono::duration_cast<std::chrono::seconds>(now.wall.time_since_epoch()).count();
  std::string aside = path + ".damaged-" + std::to_string(seconds);
  while (std::filesystem::exists(aside)) {
    aside += "x";
  }
  for (const char* suffix : {"", "-wal", "-shm"}) {
    std::error_code error;
    std::filesystem::rename(path + suffix, aside + suffix, error);
    if (error && std::string_view{suffix}.empty()) {
      return tl::unexpected(StorageError{StorageFault::io_error, path + ": " + error.message()});
    }
  }
  return aside;
}

}  // namespace

Stored<Ledger> Ledger::open_file(const std::string& path, Creating creating, const Boot& boot) {
  auto database = Database::open(path, creating, Sync::full);
  if (!database) {
    return tl::unexpected(database.error());
  }
  if (auto sound = database->check(); !sound) {
    return tl::unexpected(sound.error());
  }
  const auto version = database->number("PRAGMA user_version");
  if (!version) {
    return tl::unexpected(version.error());
  }
  if (*version > kSchema) {
    return tl::unexpected(
        StorageError{StorageFault::too_new, path + " has schema " + std::to_string(*version) +
                                                ", this program knows " + std::to_string(kSchema)});
  }
  if (*version == 0 && creating == Creating::no) {
    return tl::unexpected(StorageError{StorageFault::damaged, path + " is not a ledger"});
  }
  if (auto created = database->execute(kCreate); !created) {
    return tl::unexpected(created.error());
  }
  Ledger ledger{std::move(*database)};
  if (auto known = ledger.know_boot(boot); !known) {
    return tl::unexpected(known.error());
  }
  return ledger;
}

Stored<void> Ledger::know_boot(const Boot& boot) {
  boot_id_ = boot.id;
  const auto known = database_.prepare("SELECT lifetime_before_ms FROM boots WHERE id = ?1");
  known->bind(boot.id);
  const auto row = known->next();
  if (!row) {
    return tl::unexpected(row.error());
  }
  if (*row) {
    lifetime_before_boot_ = duration_of(known->integer(0));
    return {};
  }
  // The lifetime goes on from the newest row of every earlier boot, now. Neither the time between
  // that row and the reboot is credited, nor what this machine was up before: the directory may
  // have been elsewhere.
  const auto newest = database_.number(
      "SELECT max(coalesce((SELECT max(reserved_lifetime_ms) FROM pulses), 0), coalesce((SELECT "
      "max(max(start_lifetime_ms, coalesce(end_lifetime_ms, 0))) FROM stirs), 0))");
  if (!newest) {
    return tl::unexpected(newest.error());
  }
  const std::int64_t before = *newest - ms(boot.now.mono.time_since_epoch());
  lifetime_before_boot_ = duration_of(before);
  return database_.prepare("INSERT INTO boots VALUES(?1, ?2)")->bind(boot.id, before).run();
}

Stored<void> Ledger::add_station(std::string_view station, Moment now) const {
  return database_.prepare("INSERT OR IGNORE INTO stations VALUES(?1, ?2)")
      ->bind(station, ms(now.wall))
      .run();
}

Stored<std::vector<std::string>> Ledger::prepare(const std::string& path,
                                                 const std::vector<std::string>& stations,
                                                 const Boot& boot) {
  auto ledger = open_file(path, Creating::yes, boot);
  if (!ledger) {
    return tl::unexpected(ledger.error());
  }
  std::vector<std::string> added;
  for (const std::string& station : stations) {
    const auto known = ledger->database_.prepare("SELECT 1 FROM stations WHERE name = ?1");
    known->bind(station);
    const auto row = known->next();
    if (!row) {
      return tl::unexpected(row.error());
    }
    if (*row) {
      continue;
    }
    if (auto done = ledger->add_station(station, boot.now); !done) {
      return tl::unexpected(done.error());
    }
    added.push_back(station);
  }
  return added;
}

Stored<Ledger> Ledger::open(const std::string& path, const std::vector<std::string>& stations,
                            const Boot& boot) {
  auto ledger = open_file(path, Creating::no, boot);
  std::string note;
  if (!ledger && ledger.error().fault == StorageFault::damaged) {
    const auto aside = set_aside(path, boot.now);
    if (!aside) {
      return tl::unexpected(aside.error());
    }
    note = "The ledger was damaged (" + ledger.error().detail + ") and is kept as " + *aside +
           ". A new one was begun.";
    ledger = open_file(path, Creating::yes, boot);
  } else if (!ledger && ledger.error().fault == StorageFault::missing) {
    note = "The ledger " + path +
           " was missing and was begun anew. If this station is new, stop, "
           "remove that file and run 'limegate prepare'; if not, find out where the old one went.";
    ledger = open_file(path, Creating::yes, boot);
  }
  if (!ledger) {
    return ledger;
  }
  if (!note.empty()) {
    ledger->notes_.push_back(note);
  }
  if (auto done = ledger->set_damaged_rows_aside(boot.now); !done) {
    return tl::unexpected(done.error());
  }
  if (auto done = ledger->presume_unknown(stations, boot.now); !done) {
    return tl::unexpected(done.error());
  }
  return ledger;
}

Stored<void> Ledger::presume_unknown(const std::vector<std::string>& stations, Moment now) {
  for (const std::string& station : stations) {
    const auto known = database_.prepare("SELECT 1 FROM stations WHERE name = ?1");
    known->bind(station);
    const auto row = known->next();
    if (!row) {
      return tl::unexpected(row.error());
    }
    if (*row) {
      continue;
    }
    if (auto done = presume_full(station, "The ledger knows nothing of this station.", now);
        !done) {
      return done;
    }
    if (auto done = add_station(station, now); !done) {
      return done;
    }
  }
  return {};
}

Stored<void> Ledger::presume_full(std::string_view station, const std::string& why, Moment now) {
  const auto newest = database_.prepare("SELECT max(id) FROM pulses WHERE station = ?1");
  newest->bind(station);
  const auto row = newest->next();
  if (!row) {
    return tl::unexpected(row.error());
  }
  const std::int64_t id = newest->integer(0) + 1;
  const std::int64_t lifetime = ms(now.mono.time_since_epoch() + lifetime_before_boot_);
  PulseRow full;
  full.station = station;
  full.id = id;
  full.volume_ul = full.counted_ul = microlitres(kCountsAsFull);
  full.reserved_lifetime_ms = full.end_lifetime_ms = lifetime;
  full.reserved_wall_ms = full.end_wall_ms = ms(now.wall);
  full.boot = boot_id_;
  full.fate = static_cast<std::int64_t>(station::Fate::presumed);
  notes_.push_back("Station " + std::string{station} + ": " + why +
                   " The last 24 h count as full, so dosing is held until they have passed.");
  return store(database_, full);
}

}  // namespace limegate::journal
