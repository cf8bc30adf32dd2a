#include "journal/standing.h"

#include <utility>

#include "journal/alert_store.h"
#include "journal/ledger_rows.h"
#include "journal/stored_row.h"
#include "journal/stored_units.h"

namespace limegate::journal {

Stored<Standing> read_standing(const std::string& ledger, const std::string& station) {
  const auto database = Database::beside(ledger);
  if (!database) {
    return tl::unexpected(database.error());
  }
  Standing standing;
  const auto volume = select<VolumeRow>(
      *database, " WHERE station = ?1 ORDER BY since_lifetime_ms DESC, since_wall_ms DESC LIMIT 1");
  volume->bind(station);
  const auto found = volume->next();
  if (!found) {
    return tl::unexpected(found.error());
  }
  if (*found) {
    if (const auto [row, sound] = row_from<VolumeRow>(*volume); sound) {
      standing.day_volume = volume_of(row.volume_ul);
    }
  }
  auto kept = AlertStore{*database}.read();
  if (!kept) {
    return tl::unexpected(kept.error());
  }
  for (alerts::Record& record : kept->records) {
    if (record.stands() && (record.station.empty() || record.station == station)) {
      standing.alerts.push_back(std::move(record));
    }
  }
  return standing;
}

}  // namespace limegate::journal
