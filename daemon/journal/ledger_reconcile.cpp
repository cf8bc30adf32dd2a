// What the ledger makes of the copies beside it.

#include <algorithm>

#include <fmt/format.h>

#include "journal/ledger.h"
#include "journal/ledger_rows.h"
#include "rules/hold.h"
#include "station/release_note.h"

namespace limegate::journal {

Stored<Doubts> Ledger::doubts_of(const Beside& beside, const Damage& damage,
                                 const std::optional<std::int64_t>& known, std::int64_t newest,
                                 Moment now) const {
  const auto gap = misses_pulses(beside.station, known.value_or(0), now);
  const auto other = contradicts(beside, newest);
  if (!gap || !other) {
    return tl::unexpected(gap ? other.error() : gap.error());
  }
  Doubts doubts{damage.doses, damage.kept};
  if (!known) {
    doubts.full = doubts.latches = "The ledger knows nothing of this station.";
  } else if (beside.copy && beside.copy->newest_sent > newest) {
    // It is an old copy, or lost its end; or the newest row is among those that were dropped.
    const std::string lost = "The guard remembers pulses that the ledger does not know.";
    doubts.full += (doubts.full.empty() ? "" : " ") + lost;
    doubts.latches += (doubts.latches.empty() ? "" : " ") + lost;
  }
  if (*gap && doubts.full.empty()) {
    doubts.full = "Numbers of pulses are missing in the ledger.";
  }
  if (doubts.latches.empty() && !beside.copy) {
    doubts.latches = *other;
  }
  if (const std::string& elsewhere = damage.moved.empty() ? *other : damage.moved;
      !elsewhere.empty() && doubts.full.empty()) {
    doubts.full = elsewhere;
    doubts.fate = station::Fate::presumed_moved;
  }
  if (doubts.full.empty() && !(beside.copy && beside.copy->kept)) {
    doubts.full = doubts.latches;
  }
  return doubts;
}

Stored<void> Ledger::reconcile(const Beside& beside, const Damage& damage, Moment now) {
  const auto known = whole_to(beside.station);
  auto newest = newest_pulse(beside.station);
  if (!known || !newest) {
    return tl::unexpected(known ? newest.error() : known.error());
  }
  newest = std::max(*newest, known->value_or(0));
  const auto doubts = doubts_of(beside, damage, *known, *newest, now);
  if (!doubts) {
    return tl::unexpected(doubts.error());
  }
  if (!beside.copy && *newest > 0 && doubts->latches.empty()) {
    notes_.push_back("Station " + beside.station +
                     ": the guard's record is missing or damaged, although the ledger has pulses. "
                     "It is begun anew, and nothing is lost by that; if nobody removed it, look "
                     "after the disk.");
  }
  if (auto done = take_on(beside, *doubts, now); !done || doubts->full.empty()) {
    return done;
  }
  // What was counted is not found again, and no number is used twice.
  const std::int64_t sent = beside.copy ? beside.copy->newest_sent : 0;
  const std::int64_t witnessed = beside.witness ? beside.witness->newest_pulse : 0;
  return know_station(beside.station, std::max({*newest, sent, witnessed}), now);
}

Stored<void> Ledger::take_on(const Beside& beside, const Doubts& doubts, Moment now) {
  // Put back, it may hold a note that was for an earlier latch: the witness knows the newest.
  const bool doubted = !doubts.full.empty() || !doubts.latches.empty();
  if (doubted || beside.witness) {
    const auto known = doubted ? Codes{} : beside.witness->latches;
    if (auto done = forget_release_notes(beside.station, known); !done) {
      return done;
    }
  }
  const bool copied = beside.copy && beside.copy->kept;
  if (!doubts.latches.empty() && !copied) {
    notes_.push_back(
        "Station " + beside.station + ": " + doubts.latches +
        " The guard's copy is not there either, so what waited for a person and what the keeper "
        "asked for may be lost. That is a hold itself, and a person at the station must release "
        "it: " +
        rules::code_of(rules::RecordLost{}) + ".");
    if (auto done = latch(beside.station, rules::code_of(rules::RecordLost{}), now.wall); !done) {
      return done;
    }
  } else if (!doubts.latches.empty() && doubts.latches != doubts.full) {
    notes_.push_back("Station " + beside.station + ": " + doubts.latches +
                     " What waits for a person and what the keeper asked for were taken from the "
                     "guard's copy; nothing is lost.");
  }
  auto taken = copied ? take_on_kept(beside.station, *beside.copy->kept, now) : Stored<bool>{false};
  taken = taken ? take_on_witness(beside, doubts, now) : taken;
  if (!taken || doubts.full.empty()) {
    return taken ? Stored<void>{} : tl::unexpected(taken.error());
  }
  return presume_full(beside.station, doubts.full, now, doubts.fate);
}

Stored<bool> Ledger::take_on_witness(const Beside& beside, const Doubts& doubts, Moment now) {
  const auto own = witness_of(beside.station);
  if (!own || !beside.witness) {
    return own ? Stored<bool>{false} : tl::unexpected(own.error());
  }
  // By its count of changes, and not by pulses: what is latched or paused brings none. One that
  // could not be written for long is behind, and knows of no release since.
  const bool doubted = !doubts.latches.empty() || doubts.fate == station::Fate::presumed_moved;
  if (!doubted && beside.witness->changes <= own->changes) {
    return false;
  }
  auto taken = take_on_kept(beside.station, {beside.witness->latches, beside.witness->wishes}, now);
  if (taken && *taken && !doubted) {
    notes_.push_back("Station " + beside.station +
                     ": the ledger is older than what its witness outside the directory knows. "
                     "What waits for a person and what the keeper asked for were taken from there; "
                     "what was written into the book since may be lost.");
  }
  // It is as new as the witness now: what a person says from here on is newer than both.
  const auto done = database_
                        .prepare(fmt::format("UPDATE {} SET changes = max(changes, ?2) "
                                             "WHERE station = ?1",
                                             kKeptChanges))
                        ->bind(beside.station, beside.witness->changes)
                        .run();
  return done ? taken : tl::unexpected(done.error());
}

Stored<bool> Ledger::take_on_kept(std::string_view station, const station::SecondCopy::Kept& kept,
                                  Moment now) {
  const auto own = witness_of(station);
  if (!own) {
    return tl::unexpected(own.error());
  }
  bool news = false;
  Stored<void> done;
  for (const std::string& code : kept.latches) {
    // Only the ledger's own note of a release counts, and what was latched since is no copy's.
    const bool known =
        std::find(own->latches.begin(), own->latches.end(), code) != own->latches.end();
    if (done && !known && !station::is_release_note(code)) {
      news = true;
      done = latch(station, code, now.wall);
    }
  }
  for (const station::Wish& wish : kept.wishes) {
    // Of two sound ones the later counts: an older ledger may have been put back.
    const bool newer =
        std::none_of(own->wishes.begin(), own->wishes.end(), [&](const station::Wish& mine) {
          return mine.what == wish.what && mine.asked.lifetime >= wish.asked.lifetime;
        });
    if (done && newer) {
      news = true;
      done = keep(station, wish);
    }
  }
  return done ? Stored<bool>{news} : tl::unexpected(done.error());
}

}  // namespace limegate::journal
