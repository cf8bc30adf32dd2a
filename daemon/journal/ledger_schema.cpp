#include "journal/ledger_schema.h"

#include <algorithm>
#include <iterator>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include <fmt/format.h>

#include "journal/alert_rows.h"
#include "journal/book_rows.h"
#include "journal/learned_rows.h"
#include "journal/ledger_rows.h"
#include "journal/past.h"
#include "journal/stored_row.h"

namespace limegate::journal {
namespace {

struct Table {
  const char* name;
  const char* columns;  ///< as SQLite keeps them: the text counts
};

constexpr const char* kPulses =
    "(station TEXT, id INTEGER, volume_ul INTEGER, duration_ms INTEGER,\n"
    "  reserved_lifetime_ms INTEGER, reserved_wall_ms INTEGER, end_lifetime_ms INTEGER,\n"
    "  end_wall_ms INTEGER, boot TEXT, fate INTEGER, counted_ul INTEGER, checksum INTEGER,\n"
    "  PRIMARY KEY(station, id)) WITHOUT ROWID";
constexpr const char* kStirs =
    "(station TEXT, id INTEGER, duration_ms INTEGER,\n"
    "  start_lifetime_ms INTEGER, start_wall_ms INTEGER, boot TEXT, end_lifetime_ms INTEGER,\n"
    "  end_wall_ms INTEGER, checksum INTEGER, PRIMARY KEY(station, id)) WITHOUT ROWID";

constexpr Table kTables[] = {
    {"stations",
     "(name TEXT PRIMARY KEY, added_wall_ms INTEGER, whole_to INTEGER, checksum INTEGER) "
     "WITHOUT ROWID"},
    {"boots", "(id TEXT PRIMARY KEY, lifetime_before_ms INTEGER, checksum INTEGER) WITHOUT ROWID"},
    {"pulses", kPulses},
    {"stirs", kStirs},
    {PastPulseRow::kTable, kPulses},
    {PastStirRow::kTable, kStirs},
    {"days",
     "(station TEXT, day INTEGER, pulses INTEGER, volume_ul INTEGER, found_ul INTEGER, "
     "stirs INTEGER, unreadable INTEGER, checksum INTEGER, PRIMARY KEY(station, day)) "
     "WITHOUT ROWID"},
    {"latches",
     "(station TEXT, code TEXT, since_wall_ms INTEGER, checksum INTEGER, "
     "PRIMARY KEY(station, code)) WITHOUT ROWID"},
    {"wishes",
     "(station TEXT, what INTEGER, volume_ul INTEGER, lasting_ms INTEGER, "
     "asked_lifetime_ms INTEGER, asked_wall_ms INTEGER, checksum INTEGER, "
     "PRIMARY KEY(station, what)) WITHOUT ROWID"},
    {"volumes",
     "(station TEXT, since_lifetime_ms INTEGER, since_wall_ms INTEGER, volume_ul INTEGER, "
     "checksum INTEGER, PRIMARY KEY(station, since_lifetime_ms)) WITHOUT ROWID"},
    {"usual_course",
     "(station TEXT, quarter INTEGER, mean REAL, days INTEGER, checksum INTEGER, "
     "PRIMARY KEY(station, quarter)) WITHOUT ROWID"},
    {"dose_effect",
     "(station TEXT PRIMARY KEY, share REAL, days INTEGER, checksum INTEGER) WITHOUT ROWID"},
    {"dose_cycles",
     "(station TEXT, at_lifetime_ms INTEGER, seen REAL, expected REAL, "
     "value_then REAL, expected_then REAL, taught INTEGER, checksum INTEGER, PRIMARY KEY(station, "
     "at_lifetime_ms)) WITHOUT ROWID"},
    {"dose_anchor",
     "(station TEXT PRIMARY KEY, first_share REAL, confirmed_ml_per_min REAL, "
     "contradicted_ml_per_min REAL, rate_ml_per_min REAL, beyond_chemistry INTEGER, checksum "
     "INTEGER) WITHOUT ROWID"},
    {"reference",
     "(station TEXT PRIMARY KEY, ph REAL, share REAL, changed_lifetime_ms INTEGER, "
     "changed_wall_ms INTEGER, checksum INTEGER) WITHOUT ROWID"},
    {AlertRow::kTable,
     "(station TEXT, id TEXT, record TEXT, checksum INTEGER, PRIMARY KEY(station, id)) "
     "WITHOUT ROWID"},
    {AlertMessageRow::kTable,
     "(number INTEGER PRIMARY KEY, lifetime_ms INTEGER, wall_ms INTEGER, event TEXT, checksum "
     "INTEGER)"},
    {BookRow::kTable,
     "(station TEXT, number INTEGER, at_wall_ms INTEGER, what TEXT, value TEXT, unit TEXT, "
     "kit TEXT, entered_lifetime_ms INTEGER, entered_wall_ms INTEGER, undone_wall_ms INTEGER, "
     "checksum INTEGER, PRIMARY KEY(station, number)) WITHOUT ROWID"},
    {BookBesideRow::kTable,
     "(station TEXT, number INTEGER, given_before_ul INTEGER, ph_shown_thousandths INTEGER, "
     "checksum INTEGER, PRIMARY KEY(station, number)) WITHOUT ROWID"},
    {kKeptChanges, "(station TEXT PRIMARY KEY, changes INTEGER) WITHOUT ROWID"},
    {"home", "(machine TEXT PRIMARY KEY, path TEXT, checksum INTEGER) WITHOUT ROWID"},
    {"damaged", "(found_wall_ms INTEGER, what TEXT, station TEXT, id INTEGER)"}};

const Table& table_named(const std::string& name) {
  return *std::find_if(std::begin(kTables), std::end(kTables),
                       [&](const Table& table) { return name == table.name; });
}

/// With the quotes that SQLite writes when it renames a table: one that was renamed reads the same.
std::string creating(const Table& table) {
  const std::string name = std::string_view{table.name}.starts_with("past_")
                               ? '"' + std::string{table.name} + '"'
                               : std::string{table.name};
  return "CREATE TABLE " + name + table.columns;
}

Stored<void> create(const Database& database, const Table& table) {
  return database.execute(creating(table).c_str());
}

/// So often latches and wishes of a station have changed, in the same transaction as they do. Of an
/// outer OR REPLACE the inner statements would take over its way with conflicts: they have none.
Stored<void> count_changes(const Database& database) {
  Stored<void> done;
  for (const char* table : {LatchRow::kTable, WishRow::kTable}) {
    for (const char* what : {"INSERT", "UPDATE", "DELETE"}) {
      const char* const row = std::string_view{what} == "DELETE" ? "OLD" : "NEW";
      done = done ? database.execute(
                        fmt::format("CREATE TRIGGER {0}_{1} AFTER {1} ON {0} BEGIN "
                                    "INSERT INTO {2} SELECT {3}.station, 0 WHERE NOT EXISTS "
                                    "(SELECT 1 FROM {2} WHERE station = {3}.station); "
                                    "UPDATE {2} SET changes = changes + 1 "
                                    "WHERE station = {3}.station; END",
                                    table, what, kKeptChanges, row)
                            .c_str())
                  : done;
    }
  }
  return done;
}

Stored<bool> has(const Database& database, const std::string& table) {
  const auto known =
      database.prepare("SELECT 1 FROM sqlite_master WHERE type = 'table' AND name = ?1");
  known->bind(table);
  return known->next();
}

/// Reads a table of an older version, whose rows had no sums and perhaps fewer columns, and writes
/// it anew.
template <class Row>
Stored<void> renew(const Database& database, const std::string& columns) {
  std::vector<Row> rows;
  const auto known = has(database, Row::kTable);
  if (known && *known) {
    const auto old = database.prepare("SELECT " + columns + ", 0 FROM " + Row::kTable);
    auto more = old->next();
    for (; more && *more; more = old->next()) {
      rows.push_back(row_from<Row>(*old).row);
    }
    if (!more) {
      return tl::unexpected(more.error());
    }
  }
  if (auto done = database.execute((std::string{"DROP TABLE IF EXISTS "} + Row::kTable).c_str());
      !done) {
    return done;
  }
  auto done = create(database, table_named(Row::kTable));
  for (auto row = rows.begin(); done && row != rows.end(); ++row) {
    done = store(database, *row);
  }
  return done;
}

/// From before rows had sums.
Stored<void> renew_all(const Database& database) {
  // Until now a number could be used up without a row, by a write that failed: nothing is missing.
  auto done = renew<StationRow>(
      database,
      "name, added_wall_ms, coalesce((SELECT max(id) FROM pulses WHERE station = name), 0)");
  done = done ? renew<BootRow>(database, BootRow::kColumns) : done;
  done = done ? renew<LatchRow>(database, LatchRow::kColumns) : done;
  done = done ? renew<WishRow>(database, WishRow::kColumns) : done;
  done = done ? renew<VolumeRow>(database, VolumeRow::kColumns) : done;
  done = done ? renew<QuarterRow>(database, QuarterRow::kColumns) : done;
  done = done ? renew<EffectRow>(database, EffectRow::kColumns) : done;
  done = done ? renew<ReferenceRow>(database, ReferenceRow::kColumns) : done;
  return done ? renew<HomeRow>(database, HomeRow::kColumns) : done;
}

/// From before there was a past: years of rows, of which a start needs the newest. Renaming takes
/// no time; they become sums later, step by step.
Stored<void> set_past_apart(const Database& database) {
  auto done = database.execute(
      "ALTER TABLE pulses RENAME TO past_pulses; ALTER TABLE stirs RENAME TO past_stirs");
  for (const char* name : {PulseRow::kTable, StirRow::kTable, DayRow::kTable}) {
    done = done ? create(database, table_named(name)) : done;
  }
  return done ? take_recent_back(database) : done;
}

Stored<void> upgrade(const Database& database, std::int64_t version) {
  auto done = version < 6 ? renew_all(database) : Stored<void>{};
  for (const char* name : {CycleRow::kTable, AnchorRow::kTable}) {
    done = done && version < 7 ? create(database, table_named(name)) : done;
  }
  done = done && version < 8 ? set_past_apart(database) : done;
  for (const char* name : {AlertRow::kTable, AlertMessageRow::kTable}) {
    done = done && version < 9 ? create(database, table_named(name)) : done;
  }
  done = done && version < 10 ? create(database, table_named(BookRow::kTable)) : done;
  done = done && version < 11 ? create(database, table_named(BookBesideRow::kTable)) : done;
  done = done ? create(database, table_named(kKeptChanges)) : done;
  return done ? count_changes(database) : done;
}

Stored<void> create_all(const Database& database) {
  Stored<void> done;
  for (const Table& table : kTables) {
    done = done ? create(database, table) : done;
  }
  return done ? count_changes(database) : done;
}

/// A sum over where each table begins. Begun at another page, a table would look empty, and a check
/// of each table alone finds nothing wrong with that.
Stored<std::int64_t> layout_of(const Database& database) {
  RowSum sum;
  for (const Table& table : kTables) {
    const auto known = database.prepare("SELECT rootpage FROM sqlite_master WHERE name = ?1");
    const auto row = known->bind(std::string{table.name}).next();
    if (!row) {
      return tl::unexpected(row.error());
    }
    sum.add(known->integer(0));
  }
  return static_cast<std::int32_t>(sum.value());  // as SQLite keeps it
}

Stored<void> keep_layout(const Database& database) {
  const auto layout = layout_of(database);
  return layout ? database.execute(("PRAGMA application_id = " + std::to_string(*layout)).c_str())
                : tl::unexpected(layout.error());
}

/// Where they begin elsewhere, somebody may have packed the file: then the whole of it is sound.
Stored<void> see_layout(const Database& database) {
  const auto is = layout_of(database);
  const auto was = is ? database.number("PRAGMA application_id") : is;
  if (!was) {
    return tl::unexpected(was.error());
  }
  if (*is == *was) {
    return {};
  }
  const auto sound = database.check();
  return sound ? keep_layout(database) : sound;
}

/// Under a name that one flipped bit made, a table would look new and empty.
Stored<void> see_all(const Database& database) {
  for (const Table& table : kTables) {
    const auto known = database.prepare("SELECT sql FROM sqlite_master WHERE name = ?1");
    known->bind(std::string{table.name});
    const auto row = known->next();
    if (!row) {
      return tl::unexpected(row.error());
    }
    if (!*row || known->text(0) != creating(table)) {
      return tl::unexpected(
          StorageError{StorageFault::damaged,
                       std::string{"the table "} + table.name + " is not as it was made"});
    }
  }
  return {};
}

}  // namespace

Stored<void> make_schema(const Database& database, std::int64_t version) {
  if (version == kSchema) {
    const auto seen = see_all(database);
    return seen ? see_layout(database) : seen;
  }
  auto done = database.execute("BEGIN IMMEDIATE");
  if (!done) {
    return done;
  }
  done = version == 0 ? create_all(database) : upgrade(database, version);
  done = done ? see_all(database) : done;
  done = done ? keep_layout(database) : done;
  done = done ? database.execute(
                    ("PRAGMA user_version = " + std::to_string(kSchema) + "; COMMIT").c_str())
              : done;
  if (!done) {
    (void)database.execute("ROLLBACK");
  }
  return done;
}

Stored<void> check_present(const Database& database, std::int64_t version) {
  const std::set<std::string> past =
      version < 8
          ? std::set<std::string>{PulseRow::kTable, StirRow::kTable}
          : std::set<std::string>{PastPulseRow::kTable, PastStirRow::kTable, DayRow::kTable};
  std::vector<std::string> present{"sqlite_schema"};
  const auto tables = database.prepare("SELECT name FROM sqlite_master WHERE type = 'table'");
  auto more = tables->next();
  for (; more && *more; more = tables->next()) {
    if (!past.contains(tables->text(0))) {
      present.push_back(tables->text(0));
    }
  }
  auto sound = more ? Stored<void>{} : tl::unexpected(more.error());
  for (auto table = present.begin(); sound && table != present.end(); ++table) {
    sound = database.check(*table);
  }
  return sound;
}

}  // namespace limegate::journal
