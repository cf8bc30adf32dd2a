#include "journal/recorded.h"

#include <chrono>
#include <cstdint>

#include <fmt/format.h>

#include "journal/ledger_rows.h"
#include "journal/levels.h"
#include "journal/stored_units.h"
#include "station/records.h"

namespace limegate::journal {
namespace {

constexpr std::int64_t kDay = 86400;

WallTime moment(std::int64_t seconds) { return WallTime{std::chrono::seconds{seconds}}; }

std::optional<double> scaled(const Statement& row, int column, double unit) {
  const auto value = row.maybe_integer(column);
  return value ? std::optional{static_cast<double>(*value) / unit} : std::nullopt;
}

/// One query, row by row.
template <class Take>
Stored<void> each_row(const Database& database, const std::string& query, const CourseAsked& asked,
                      const Take& take) {
  const auto row = database.prepare(query);
  row->bind(seconds_of(asked.from), seconds_of(asked.until), asked.station);
  auto more = row->next();
  for (; more && *more; more = row->next()) {
    take(*row);
  }
  return more ? Stored<void>{} : tl::unexpected(more.error());
}

}  // namespace

Stored<void> read_readings(const RecordFiles& files, const CourseAsked& asked,
                           const std::function<void(const RecordedReading&)>& take) {
  const auto database = readings_beside(files.readings);
  if (!database) {
    return tl::unexpected(database.error());
  }
  return each_row(
      *database,
      fmt::format(
          "SELECT at_s, 1, CAST(round(1.0 * ph_sum / ph_rows) AS INTEGER), ph_low, ph_high, "
          "CAST(round(1.0 * temperature_sum / temperature_rows) AS INTEGER) FROM ({}) UNION ALL "
          "SELECT at_s, 0, ph_thousandths, NULL, NULL, temperature_hundredths FROM readings "
          "WHERE at_s >= ?1 AND at_s < ?2 AND station = ?3 ORDER BY at_s",
          summed_alone()),
      asked, [&](const Statement& row) {
        take({moment(row.integer(0)), row.integer(1) != 0, scaled(row, 2, 1000.0),
              scaled(row, 3, 1000.0), scaled(row, 4, 1000.0), scaled(row, 5, 100.0)});
      });
}

Stored<void> read_volumes(const RecordFiles& files, const CourseAsked& asked,
                          const std::function<void(const RecordedVolume&)>& take) {
  const auto database = Database::beside(files.ledger);
  if (!database) {
    return tl::unexpected(database.error());
  }
  const std::string fates = fmt::format("{}, {}", static_cast<int>(station::Fate::given),
                                        static_cast<int>(station::Fate::cut_short));
  return each_row(
      *database,
      fmt::format("SELECT day * {0} AS at_s, 1, volume_ul FROM {1} WHERE day * {0} >= ?1 AND "
                  "day * {0} < ?2 AND station = ?3 UNION ALL "
                  "SELECT end_wall_ms / 1000 AS at_s, 0, counted_ul FROM "
                  "(SELECT * FROM {2} UNION ALL SELECT * FROM {3}) WHERE station = ?3 AND id > 0 "
                  "AND fate IN ({4}) AND counted_ul > 0 AND end_wall_ms >= ?1 * 1000 AND "
                  "end_wall_ms < ?2 * 1000 ORDER BY at_s",
                  kDay, DayRow::kTable, PulseRow::kTable, PastPulseRow::kTable, fates),
      asked, [&](const Statement& row) {
        take({moment(row.integer(0)), row.integer(1) != 0,
              Millilitres{static_cast<double>(row.integer(2)) / 1000.0}});
      });
}

}  // namespace limegate::journal
