// What the ledger makes of the copies beside it.

#include <algorithm>

#include "journal/ledger.h"
#include "rules/hold.h"

namespace limegate::journal {

Stored<void> Ledger::reconcile(const Beside& beside, const Damage& damage, Moment now) {
  const auto known = whole_to(beside.station);
  const auto newest = newest_pulse(beside.station);
  if (!known || !newest) {
    return tl::unexpected(known ? newest.error() : known.error());
  }
  const auto gap = misses_pulses(beside.station, known->value_or(0), now);
  if (!gap) {
    return tl::unexpected(gap.error());
  }
  const std::int64_t newest_here = std::max(*newest, known->value_or(0));
  const std::int64_t newest_sent = beside.copy ? beside.copy->newest_sent : 0;
  Doubts doubts{damage.doses, damage.kept};
  if (!*known) {
    doubts = {"The ledger knows nothing of this station.",
              "The ledger knows nothing of this station."};
  } else if (newest_sent > newest_here) {
    // It is an old copy, or lost its end.
    const std::string lost = "The guard remembers pulses that the ledger does not know.";
    doubts.full += (doubts.full.empty() ? "" : " ") + lost;
    doubts.latches += (doubts.latches.empty() ? "" : " ") + lost;
  }
  if (*gap && doubts.full.empty()) {
    doubts.full = "Numbers of pulses are missing in the ledger.";
  }
  if (!beside.copy && newest_here > 0 && doubts.latches.empty()) {
    notes_.push_back("Station " + beside.station +
                     ": the guard's record is missing or damaged, although the ledger has pulses. "
                     "It is begun anew, and nothing is lost by that; if nobody removed it, look "
                     "after the disk.");
  }
  const bool copied = beside.copy && beside.copy->kept;
  if (!copied && doubts.full.empty()) {
    doubts.full = doubts.latches;
  }
  const bool full = !doubts.full.empty();
  if (auto done = take_on(beside, doubts, now); !done) {
    return done;
  }
  return full ? know_station(beside.station, std::max(newest_here, newest_sent), now)
              : Stored<void>{};
}

Stored<void> Ledger::take_on(const Beside& beside, const Doubts& doubts, Moment now) {
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
  auto done = copied ? take_on_copy(beside, now) : Stored<void>{};
  return done && !doubts.full.empty() ? presume_full(beside.station, doubts.full, now) : done;
}

Stored<void> Ledger::take_on_copy(const Beside& beside, Moment now) {
  const station::SecondCopy::Kept& kept = *beside.copy->kept;
  Stored<void> done;
  for (auto code = kept.latches.begin(); done && code != kept.latches.end(); ++code) {
    done = latch(beside.station, *code, now.wall);
  }
  station::History here;
  done = done ? add_wishes(beside.station, here) : done;
  for (auto wish = kept.wishes.begin(); done && wish != kept.wishes.end(); ++wish) {
    // Of two sound ones the later counts: an older ledger may have been put back.
    const bool newer =
        std::none_of(here.wishes.begin(), here.wishes.end(), [&](const station::Wish& mine) {
          return mine.what == wish->what && mine.asked.lifetime >= wish->asked.lifetime;
        });
    done = newer ? keep(beside.station, *wish) : done;
  }
  return done;
}

}  // namespace limegate::journal
