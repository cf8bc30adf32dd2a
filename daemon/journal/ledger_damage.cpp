// What the ledger does about rows that were damaged on the disk.

#include "journal/ledger.h"
#include "journal/ledger_rows.h"
#include "journal/stored_units.h"

namespace limegate::journal {

Stored<void> Ledger::set_damaged_rows_aside(Moment now) {
  struct Damaged {
    const char* table;
    std::string station;
    std::int64_t id;
  };
  std::vector<Damaged> damaged;
  const auto collect = [&](const char* table, const char* columns, auto read) -> Stored<void> {
    const auto rows = database_.prepare(std::string{"SELECT "} + columns + " FROM " + table);
    for (;;) {
      const auto more = rows->next();
      if (!more) {
        return tl::unexpected(more.error());
      }
      if (!*more) {
        return {};
      }
      const auto checked = read(*rows);
      if (!checked.sound) {
        damaged.push_back({table, checked.row.station, checked.row.id});
      }
    }
  };
  if (auto done = collect("pulses", kPulseColumns, pulse_from); !done) {
    return done;
  }
  if (auto done = collect("stirs", kStirColumns, stir_from); !done) {
    return done;
  }
  if (!damaged.empty()) {
    // Whose row it was can't be believed, and its times neither: it counts as of today for all.
    std::string why = "Row " + std::to_string(damaged[0].id) + " of " + damaged[0].table;
    why += damaged.size() == 1 ? " was damaged on the disk."
                               : " and others (" + std::to_string(damaged.size()) +
                                     " in all) were damaged on the disk.";
    if (auto done = presume_all_full(why, now); !done) {
      return done;
    }
  }
  for (const Damaged& row : damaged) {
    const std::string table = row.table;
    if (auto done = database_.prepare("INSERT INTO damaged VALUES(?1, ?2, ?3, ?4)")
                        ->bind(ms(now.wall), table, row.station, row.id)
                        .run();
        !done) {
      return done;
    }
    if (auto done = database_.prepare("DELETE FROM " + table + " WHERE station = ?1 AND id = ?2")
                        ->bind(row.station, row.id)
                        .run();
        !done) {
      return done;
    }
  }
  return {};
}

Stored<void> Ledger::presume_all_full(const std::string& why, Moment now) {
  std::vector<std::string> names;
  const auto stations = database_.prepare("SELECT name FROM stations");
  auto more = stations->next();
  for (; more && *more; more = stations->next()) {
    names.push_back(stations->text(0));
  }
  if (!more) {
    return tl::unexpected(more.error());
  }
  for (const std::string& name : names) {
    if (auto done = presume_full(name, why, now); !done) {
      return done;
    }
  }
  return {};
}

}  // namespace limegate::journal
