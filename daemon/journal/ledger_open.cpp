#include <algorithm>
#include <chrono>
#include <filesystem>

#include "journal/ledger.h"
#include "journal/ledger_rows.h"
#include "journal/ledger_schema.h"
#include "journal/stored_row.h"
#include "journal/stored_units.h"

namespace limegate::journal {
namespace {

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

/// The newest observed uptime that the copies know.
Duration newest_lifetime(const std::vector<Beside>& stations) {
  Duration newest{};
  const auto look_at = [&](const std::vector<station::Wish>& wishes) {
    for (const station::Wish& wish : wishes) {
      newest = std::max(newest, wish.asked.lifetime);
    }
  };
  for (const Beside& beside : stations) {
    if (beside.copy && beside.copy->kept) {
      look_at(beside.copy->kept->wishes);
    }
    if (beside.witness) {
      look_at(beside.witness->wishes);
    }
  }
  return newest;
}

}  // namespace

Stored<Ledger> Ledger::open_file(const std::string& path, Creating creating) {
  const LogState log = check_log(path);
  if (log == LogState::damaged) {
    return tl::unexpected(StorageError{StorageFault::damaged, path + "-wal does not fit its sums"});
  }
  auto database = Database::open(path, creating, Sync::full);
  if (!database) {
    return tl::unexpected(database.error());
  }
  const auto version = database->number("PRAGMA user_version");
  if (!version) {
    return tl::unexpected(version.error());
  }
  if (*version > kSchema) {
    return tl::unexpected(
        StorageError{StorageFault::too_new, path + " has schema " + std::to_string(*version) +
                                                ", this program knows " + std::to_string(kSchema) +
                                                ": install the newer version again"});
  }
  if (*version < 0 || (*version == 0 && creating == Creating::no)) {
    return tl::unexpected(StorageError{StorageFault::damaged, path + " is not a ledger"});
  }
  auto sound = check_present(*database, *version);
  sound = sound ? make_schema(*database, *version) : sound;
  if (!sound) {
    return tl::unexpected(sound.error());
  }
  Ledger ledger{std::move(*database)};
  ledger.log_ = log;
  return ledger;
}

Stored<void> Ledger::know_boot(const Boot& boot, Duration lifetime_elsewhere) {
  boot_id_ = boot.id;
  home_ = boot.home;
  const auto known = select<BootRow>(database_, " WHERE id = ?1");
  known->bind(boot.id);
  const auto row = known->next();
  if (!row) {
    return tl::unexpected(row.error());
  }
  if (*row) {
    lifetime_before_boot_ = duration_of(row_from<BootRow>(*known).row.lifetime_before_ms);
    return {};
  }
  // The lifetime goes on from the newest row of every earlier boot, now. Neither the time between
  // that row and the reboot is credited, nor what this machine was up before: the directory may
  // have been elsewhere.
  auto newest = database_.number(
      "SELECT max(coalesce((SELECT max(reserved_lifetime_ms) FROM pulses), 0), coalesce((SELECT "
      "max(max(start_lifetime_ms, coalesce(end_lifetime_ms, 0))) FROM stirs), 0))");
  if (!newest) {
    return tl::unexpected(newest.error());
  }
  // One that was begun anew or put back goes on where the copies were, as this machine was seen to
  // be up so long: what was asked for has its age.
  newest = std::max(*newest, ms(lifetime_elsewhere));
  const std::int64_t before = *newest - ms(boot.now.mono.time_since_epoch());
  lifetime_before_boot_ = boot.lifetime_before.value_or(duration_of(before));
  // Of earlier boots nothing is read any more; should one of them go on, as on a machine that the
  // directory comes back to, it is credited no time.
  auto done = database_.execute("DELETE FROM boots");
  return done ? store(database_, BootRow{boot.id, ms(lifetime_before_boot_)}) : done;
}

Stored<bool> Ledger::misses_pulses(std::string_view station, std::int64_t whole_to,
                                   Moment now) const {
  const auto rows = select<PulseRow>(database_, " WHERE station = ?1 AND id > ?2 ORDER BY id");
  rows->bind(station, whole_to);
  std::int64_t expected = whole_to + 1;
  auto more = rows->next();
  for (; more && *more; more = rows->next()) {
    const PulseRow row = row_from<PulseRow>(*rows).row;
    // What is missing before it was reserved before it: it is of today only if this one is.
    const dosing::Stamp reserved{duration_of(row.reserved_lifetime_ms),
                                 wall_of(row.reserved_wall_ms)};
    if (row.id != expected && dosing::age(reserved, stamp(now)) < std::chrono::hours{24}) {
      return true;
    }
    expected = row.id + 1;
  }
  return more ? Stored<bool>{false} : tl::unexpected(more.error());
}

Stored<std::int64_t> Ledger::newest_pulse(std::string_view station) const {
  const auto newest = database_.prepare("SELECT max(id) FROM pulses WHERE station = ?1");
  newest->bind(station);
  const auto row = newest->next();
  return row ? Stored<std::int64_t>{std::max<std::int64_t>(newest->integer(0), 0)}
             : tl::unexpected(row.error());
}

Stored<std::optional<std::int64_t>> Ledger::whole_to(std::string_view station) const {
  const auto known = select<StationRow>(database_, " WHERE name = ?1");
  known->bind(station);
  const auto row = known->next();
  if (!row) {
    return tl::unexpected(row.error());
  }
  return *row ? std::optional{row_from<StationRow>(*known).row.whole_to} : std::nullopt;
}

Stored<void> Ledger::know_station(std::string_view station, std::int64_t whole_to,
                                  Moment now) const {
  return store(database_, StationRow{std::string{station}, ms(now.wall), whole_to});
}

Stored<Ledger> Ledger::open(const std::string& path, const std::vector<Beside>& stations,
                            const Boot& boot) {
  auto ledger = open_file(path, Creating::no);
  std::string note;
  if (!ledger && ledger.error().fault == StorageFault::damaged) {
    const auto aside = set_aside(path, boot.now);
    if (!aside) {
      return tl::unexpected(aside.error());
    }
    note = "The ledger was damaged (" + ledger.error().detail + ") and is kept as " + *aside +
           ". A new one was begun.";
    ledger = open_file(path, Creating::yes);
  } else if (!ledger && ledger.error().fault == StorageFault::missing) {
    note = "The ledger " + path +
           " was missing and was begun anew. If this station is new, stop, "
           "remove that file and run 'limegate prepare'; if not, find out where the old one went.";
    ledger = open_file(path, Creating::yes);
  }
  if (!ledger) {
    return ledger;
  }
  if (!note.empty()) {
    ledger->notes_.push_back(note);
  }
  // All or nothing: what was dropped must not be gone before it was counted.
  auto done = ledger->database_.execute("BEGIN IMMEDIATE");
  done = done ? ledger->settle(stations, boot) : done;
  done = done ? ledger->database_.execute("COMMIT") : done;
  if (!done) {
    (void)ledger->database_.execute("ROLLBACK");
    return tl::unexpected(done.error());
  }
  return ledger;
}

Stored<void> Ledger::settle(const std::vector<Beside>& stations, const Boot& boot) {
  auto damage = drop_damaged_rows(boot.now.wall);
  if (!damage) {
    return tl::unexpected(damage.error());
  }
  if (log_ == LogState::unfinished) {
    const std::string cut =
        "The newest entry of the ledger's log was not whole: it was being written when the power "
        "went, or it was damaged.";
    damage->kept += (damage->kept.empty() ? "" : " ") + cut;
  }
  auto done = know_boot(boot, newest_lifetime(stations));
  const auto moved = done ? know_home() : tl::unexpected(done.error());
  if (!moved) {
    return tl::unexpected(moved.error());
  }
  damage->moved = *moved;
  for (auto beside = stations.begin(); done && beside != stations.end(); ++beside) {
    done = reconcile(*beside, *damage, boot.now);
  }
  return done;
}

Stored<void> Ledger::presume_full(std::string_view station, const std::string& why, Moment now,
                                  station::Fate fate) {
  const auto lowest = database_.prepare("SELECT min(id) FROM pulses WHERE station = ?1");
  lowest->bind(station);
  const auto row = lowest->next();
  if (!row) {
    return tl::unexpected(row.error());
  }
  const dosing::Stamp at = stamp(now);
  PulseRow full;
  full.station = station;
  full.id = std::min<std::int64_t>(lowest->integer(0), 0) - 1;
  full.volume_ul = full.counted_ul = microlitres(kCountsAsFull);
  full.reserved_lifetime_ms = full.end_lifetime_ms = ms(at.lifetime);
  full.reserved_wall_ms = full.end_wall_ms = ms(at.wall);
  full.boot = boot_id_;
  full.fate = static_cast<std::int64_t>(fate);
  presumed_.insert_or_assign(std::string{station}, dosing::Dose{full.id, at, kCountsAsFull});
  notes_.push_back("Station " + std::string{station} + ": " + why +
                   " The last 24 h count as full, so dosing is held until they have passed.");
  return store(database_, full);
}

}  // namespace limegate::journal
