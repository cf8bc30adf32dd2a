#include "journal/counts.h"

#include <fmt/format.h>

#include "journal/ledger_rows.h"
#include "journal/stored_units.h"

namespace limegate::journal {
namespace {

std::map<std::string, WallTime> stations_since(const std::string& path) {
  std::map<std::string, WallTime> since;
  if (const auto ledger = Database::beside(path)) {
    const auto row =
        ledger->prepare(fmt::format("SELECT name, added_wall_ms FROM {}", StationRow::kTable));
    for (auto more = row->next(); more && *more; more = row->next()) {
      since.emplace(row->text(0), wall_of(row->integer(1)));
    }
  }
  return since;
}

}  // namespace

Stored<Counts> read_counts(const RecordFiles& files) {
  const auto database = Database::beside(files.readings);
  if (!database) {
    return tl::unexpected(database.error());
  }
  Counts counts;
  const auto since = database->prepare("SELECT at_s FROM counted_since");
  const auto begun = since->next();
  if (!begun || !*begun) {
    return tl::unexpected(
        begun ? StorageError{StorageFault::damaged, files.readings + " counts nothing"}
              : begun.error());
  }
  counts.since = WallTime{std::chrono::seconds{since->integer(0)}};
  const auto row = database->prepare("SELECT station, code, about, times FROM counts");
  auto more = row->next();
  for (; more && *more; more = row->next()) {
    counts.all.push_back({row->text(0), row->text(1), row->text(2), row->integer(3)});
  }
  counts.stations = stations_since(files.ledger);
  return more ? Stored<Counts>{std::move(counts)} : tl::unexpected(more.error());
}

}  // namespace limegate::journal
