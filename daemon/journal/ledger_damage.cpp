// What the ledger does about rows that were damaged on the disk.

#include <algorithm>
#include <type_traits>

#include "journal/alert_rows.h"
#include "journal/book_rows.h"
#include "journal/damaged_rows.h"
#include "journal/learned_rows.h"
#include "journal/ledger.h"
#include "journal/ledger_rows.h"
#include "journal/stored_row.h"

namespace limegate::journal {
namespace {

/// Whether a row that fits its sum can be one of ours. Rows of older files had no sums.
template <class Row>
bool believable(const Row& row) {
  if constexpr (std::is_same_v<Row, LatchRow>) {
    return station::well_formed_code(row.code);
  } else if constexpr (std::is_same_v<Row, WishRow>) {
    return row.what >= static_cast<std::int64_t>(station::Wish::What::volume_in_file) &&
           row.what <= static_cast<std::int64_t>(station::Wish::What::away);
  } else {
    return true;
  }
}

}  // namespace

template <class Row>
Stored<std::string> Ledger::drop_damaged(WallTime now) {
  auto rows = all_rows<Row>(database_);
  if (!rows) {
    return tl::unexpected(rows.error());
  }
  const auto sound = [](const Checked<Row>& row) { return row.sound && believable(row.row); };
  const auto damaged =
      rows->size() - static_cast<std::size_t>(std::count_if(rows->begin(), rows->end(), sound));
  if (damaged == 0) {
    return std::string{};
  }
  // With a damaged key a row stands where nothing finds it, and hides others: the sound ones are
  // put in anew.
  auto done = database_.execute((std::string{"DELETE FROM "} + Row::kTable).c_str());
  for (auto row = rows->begin(); done && row != rows->end(); ++row) {
    done = sound(*row) ? store(database_, row->row) : note_damaged(database_, row->row, now);
  }
  if (!done) {
    return tl::unexpected(done.error());
  }
  return (damaged == 1 ? std::string{"A row"} : std::to_string(damaged) + " rows") +
         " of the table " + Row::kTable + (damaged == 1 ? " was" : " were") +
         " damaged on the disk.";
}

/// What was known of doses is not known any more: that frees no volume.
Stored<void> Ledger::halve_without_anchor() {
  const auto stations = all_rows<StationRow>(database_);
  if (!stations) {
    return tl::unexpected(stations.error());
  }
  Stored<void> done;
  for (const auto& station : *stations) {
    const auto known = select<AnchorRow>(database_, " WHERE station = ?1");
    known->bind(station.row.name);
    const auto found = known->next();
    if (found && !*found && done) {
      done = store(database_, AnchorRow{station.row.name, 0.0, 0.0, 0.0, 0.0, 1});
    }
  }
  return done;
}

Stored<Damage> Ledger::drop_damaged_rows(WallTime now) {
  Damage damage;
  Stored<void> failed;
  const auto look = [&](auto row, const auto& what_follows) {
    auto found = failed ? drop_damaged<decltype(row)>(now) : Stored<std::string>{};
    if (!found) {
      failed = tl::unexpected(found.error());
    } else if (!found->empty()) {
      what_follows(*found);
    }
  };
  const auto counts = [&](const std::string& found) {
    damage.doses += (damage.doses.empty() ? "" : " ") + found;
  };
  const auto is_kept_twice = [&](const std::string& found) {
    damage.kept += (damage.kept.empty() ? "" : " ") + found;
  };
  const auto is_forgotten = [&](const std::string& found) {
    notes_.push_back(found + " What was learned there is forgotten, and learned anew.");
  };
  // Whose row it was can't be believed, and its times neither: it counts for all, as of now.
  look(PulseRow{}, counts);
  look(StirRow{}, counts);
  // Of the past (past.h) nothing is read here: a damaged row there is told by `look_through`, and
  // is in no sum; a damaged sum is told too, and says that it is not whole once something is added.
  look(LatchRow{}, is_kept_twice);
  look(WishRow{}, is_kept_twice);
  look(VolumeRow{}, [&](const std::string& found) {
    notes_.push_back(found + " A day's volume of before no longer counts, only what is in force.");
  });
  look(QuarterRow{}, is_forgotten);
  look(EffectRow{}, is_forgotten);
  look(CycleRow{}, is_forgotten);
  look(AnchorRow{}, [&](const std::string& found) {
    notes_.push_back(found + " Half of the volume is given until doses were seen to be sound.");
    failed = halve_without_anchor();
  });
  look(ReferenceRow{}, is_forgotten);
  const auto is_found_again = [&](const std::string& found) {
    notes_.push_back(found +
                     " What needs a person is found out again; who had seen it is not known.");
  };
  look(AlertRow{}, is_found_again);
  look(AlertMessageRow{}, is_found_again);
  look(BookRow{}, [&](const std::string& found) {
    notes_.push_back(found + " What it said is gone from the keeper's book: write it again.");
  });
  look(BookBesideRow{}, [&](const std::string& found) {
    notes_.push_back(found + " What was given since is not known for that entry.");
  });
  look(BootRow{}, [&](const std::string& found) {
    notes_.push_back(found + " Time that was observed before is not credited.");
  });
  look(StationRow{}, [&](const std::string& found) { notes_.push_back(found); });
  look(HomeRow{}, [&](const std::string& found) {
    notes_.push_back(found + " It is taken to live where it is.");
  });
  return failed ? Stored<Damage>{damage} : tl::unexpected(failed.error());
}

}  // namespace limegate::journal
