// Whether the ledger is where it was, and as new as the witness outside its directory remembers.

#include <algorithm>
#include <utility>

#include <fmt/format.h>

#include "journal/ledger.h"
#include "journal/ledger_rows.h"
#include "journal/stored_row.h"
#include "journal/stored_units.h"

namespace limegate::journal {
namespace {

constexpr const char* kSettle =
    " If it is the newest that there is, was moved here whole, and nothing else doses this water, "
    "a "
    "person may say so: stop limegate, then 'limegate prepare CONFIG --moved-here'.";

}  // namespace

Stored<std::string> Ledger::know_home() {
  const auto rows = all_rows<HomeRow>(database_);
  if (!rows) {
    return tl::unexpected(rows.error());
  }
  std::string moved;
  // A ledger from before it was kept has none, and lives where it is found.
  if (!rows->empty() && Home{rows->front().row.machine, rows->front().row.path} != home_) {
    const HomeRow& was = rows->front().row;
    moved = (was.machine != home_.machine ? "The ledger comes from another machine"
                                          : "The ledger comes from another place, " + was.path) +
            std::string{", so it may be a copy, and an older one."} + kSettle;
  }
  if (moved.empty() && !rows->empty()) {
    return moved;
  }
  auto done = database_.execute("DELETE FROM home");
  done = done ? store(database_, HomeRow{home_.machine, home_.path}) : done;
  return done ? Stored<std::string>{moved} : tl::unexpected(done.error());
}

Stored<std::string> Ledger::contradicts(const Beside& beside, std::int64_t newest) const {
  if (!beside.witness || beside.witness->newest_pulse == 0) {
    return std::string{};
  }
  if (beside.witness->newest_pulse > newest) {
    return std::string{"The ledger is older than what its witness outside the directory knows."} +
           kSettle;
  }
  // A witness that could not be written for long names a pulse that is in the past by now.
  auto same = select<PulseRow>(database_, " WHERE station = ?1 AND id = ?2");
  auto found = same->bind(beside.station, beside.witness->newest_pulse).next();
  if (found && !*found) {
    same = select<PastPulseRow>(database_, " WHERE station = ?1 AND id = ?2");
    found = same->bind(beside.station, beside.witness->newest_pulse).next();
  }
  if (!found) {
    return tl::unexpected(found.error());
  }
  const dosing::Stamp& reserved = beside.witness->reserved;
  const PulseRow row = *found ? row_from<PulseRow>(*same).row : PulseRow{};
  if (*found && (row.reserved_lifetime_ms != ms(reserved.lifetime) ||
                 row.reserved_wall_ms != ms(reserved.wall))) {
    return std::string{
               "The ledger and its witness outside the directory tell of different pulses."} +
           kSettle;
  }
  return std::string{};
}

Stored<Witness> Ledger::witness_of(std::string_view station) const {
  Witness witness;
  witness.home = home_;
  witness.boot = boot_id_;
  const auto newest =
      select<PulseRow>(database_, " WHERE station = ?1 AND id > 0 ORDER BY id DESC LIMIT 1");
  newest->bind(station);
  const auto found = newest->next();
  if (!found) {
    return tl::unexpected(found.error());
  }
  if (*found) {
    const PulseRow row = row_from<PulseRow>(*newest).row;
    witness.newest_pulse = row.id;
    witness.reserved = {duration_of(row.reserved_lifetime_ms), wall_of(row.reserved_wall_ms)};
  }
  // What it said itself must not go back with the ledger: a second copy could be older still.
  const auto whole = whole_to(station);
  if (!whole) {
    return tl::unexpected(whole.error());
  }
  if (whole->value_or(0) > witness.newest_pulse) {
    witness.newest_pulse = **whole;
    witness.reserved = {};
  }
  const auto latches = select<LatchRow>(database_, " WHERE station = ?1");
  latches->bind(station);
  auto more = latches->next();
  for (; more && *more; more = latches->next()) {
    witness.latches.push_back(row_from<LatchRow>(*latches).row.code);
  }
  station::History kept;
  const auto done = more ? add_wishes(station, kept) : tl::unexpected(more.error());
  witness.wishes = std::move(kept.wishes);
  const auto changes =
      database_.prepare(fmt::format("SELECT changes FROM {} WHERE station = ?1", kKeptChanges));
  changes->bind(station);
  const auto changed = done ? changes->next() : tl::unexpected(done.error());
  witness.changes = changed && *changed ? changes->integer(0) : 0;
  return changed ? Stored<Witness>{std::move(witness)} : tl::unexpected(changed.error());
}

}  // namespace limegate::journal
