// What a person says of a ledger: that a station is new, and that it was moved here whole.

#include <algorithm>
#include <chrono>

#include "journal/ledger.h"
#include "journal/ledger_rows.h"
#include "journal/stored_row.h"
#include "journal/stored_units.h"

namespace limegate::journal {
namespace {

/// When years were summed up, most of the file is room that is used again only slowly. Nothing
/// waits here; and if it fails, the file stays as it is.
void pack(const Database& database) {
  const auto pages = database.number("PRAGMA page_count");
  const auto room = database.number("PRAGMA freelist_count");
  if (pages && room && *room > *pages / 2) {
    (void)database.execute("VACUUM; PRAGMA wal_checkpoint(TRUNCATE)");
  }
}

}  // namespace

Stored<bool> Ledger::dosed_today(Moment now) const {
  const auto rows = select<PulseRow>(database_, " WHERE id > 0 AND counted_ul > 0");
  auto more = rows->next();
  for (; more && *more; more = rows->next()) {
    const PulseRow row = row_from<PulseRow>(*rows).row;
    const dosing::Stamp end{duration_of(row.end_lifetime_ms), wall_of(row.end_wall_ms)};
    if (dosing::age(end, stamp(now)) < std::chrono::hours{24}) {
      return true;
    }
  }
  return more ? Stored<bool>{false} : tl::unexpected(more.error());
}

Stored<void> Ledger::add_new(const std::vector<std::string>& stations, const Boot& boot,
                             const std::string& dosed_lately, Prepared& prepared) {
  for (const std::string& station : stations) {
    const auto known = whole_to(station);
    if (!known) {
      return tl::unexpected(known.error());
    }
    if (*known) {
      continue;
    }
    auto done = know_station(station, 0, boot.now);
    if (done && !dosed_lately.empty()) {
      done = presume_full(station,
                          dosed_lately +
                              " If this water was not dosed within 24 h, say so: limegate prepare "
                              "CONFIG --never-dosed.",
                          boot.now);
    }
    if (!done) {
      return done;
    }
    prepared.added.push_back(station);
  }
  prepared.notes = notes_;
  return {};
}

Stored<Prepared> Ledger::prepare(const std::string& path, const std::vector<std::string>& stations,
                                 const Boot& boot, Water water, const std::string& dosed_lately) {
  auto ledger = open_file(path, Creating::yes);
  if (!ledger) {
    return tl::unexpected(ledger.error());
  }
  Prepared prepared;
  std::string why;
  auto done = ledger->database_.execute("BEGIN IMMEDIATE");
  done = done ? ledger->know_boot(boot, {}) : done;
  const auto homeless =
      done ? ledger->database_.number("SELECT count(*) FROM home") : tl::unexpected(done.error());
  const auto dosed = homeless ? ledger->dosed_today(boot.now) : tl::unexpected(homeless.error());
  if (dosed && water == Water::unknown) {
    why = *dosed ? "Another station of this ledger was dosed within 24 h, and this may be the same "
                   "water."
                 : dosed_lately;
  }
  done = !dosed           ? Stored<void>{tl::unexpected(dosed.error())}
         : *homeless == 0 ? store(ledger->database_, HomeRow{boot.home.machine, boot.home.path})
                          : done;
  done = done ? ledger->add_new(stations, boot, why, prepared) : done;
  done = done ? ledger->database_.execute("COMMIT") : done;
  if (!done) {
    (void)ledger->database_.execute("ROLLBACK");
    return tl::unexpected(done.error());
  }
  pack(ledger->database_);
  return prepared;
}

Stored<Ledger> Ledger::moved_here(const std::string& path, const Boot& boot) {
  auto ledger = open_file(path, Creating::no);
  if (!ledger) {
    return ledger;
  }
  auto done = ledger->database_.execute("BEGIN IMMEDIATE");
  done = done ? ledger->know_boot(boot, {}) : done;
  done = done ? ledger->database_.execute("DELETE FROM home") : done;
  done = done ? store(ledger->database_, HomeRow{boot.home.machine, boot.home.path}) : done;
  auto rows = done ? all_rows<PulseRow>(ledger->database_) : tl::unexpected(done.error());
  if (!rows) {
    return tl::unexpected(rows.error());
  }
  for (auto& [row, sound] : *rows) {
    if (done && sound && row.fate == static_cast<std::int64_t>(station::Fate::presumed_moved)) {
      row.fate = static_cast<std::int64_t>(station::Fate::not_given);
      row.counted_ul = 0;
      done = store(ledger->database_, row);
    }
  }
  done = done ? ledger->database_.execute("COMMIT") : done;
  if (!done) {
    (void)ledger->database_.execute("ROLLBACK");
    return tl::unexpected(done.error());
  }
  return ledger;
}

}  // namespace limegate::journal
