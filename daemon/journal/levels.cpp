#include "journal/levels.h"

#include <fmt/format.h>

#include "journal/database.h"

namespace limegate::journal {
namespace {

/// The newest slots of all stations stand side by side, so that a minute's batch touches few pages.
constexpr const char* kTable = R"sql(
CREATE TABLE levels(length INTEGER, at_s INTEGER, station TEXT, ph_rows INTEGER, ph_low INTEGER,
  ph_sum INTEGER, ph_high INTEGER, temperature_rows INTEGER, temperature_low INTEGER,
  temperature_sum INTEGER, temperature_high INTEGER, PRIMARY KEY(length, at_s, station))
  WITHOUT ROWID;
CREATE TABLE rows_left(upto INTEGER);
INSERT INTO rows_left SELECT max(rowid) FROM readings HAVING max(rowid) IS NOT NULL;
)sql";
/// Of an older version, in one transaction: a slow card takes hardly longer than for a batch.
constexpr std::int64_t kAtOnce = 2000;

/// Adds a sum to what a slot has.
constexpr const char* kAdded = R"sql(ON CONFLICT DO UPDATE SET
  ph_rows = ph_rows + excluded.ph_rows, ph_sum = ph_sum + excluded.ph_sum,
  ph_low = min(ifnull(ph_low, excluded.ph_low), ifnull(excluded.ph_low, ph_low)),
  ph_high = max(ifnull(ph_high, excluded.ph_high), ifnull(excluded.ph_high, ph_high)),
  temperature_rows = temperature_rows + excluded.temperature_rows,
  temperature_sum = temperature_sum + excluded.temperature_sum,
  temperature_low = min(ifnull(temperature_low, excluded.temperature_low),
                        ifnull(excluded.temperature_low, temperature_low)),
  temperature_high = max(ifnull(temperature_high, excluded.temperature_high),
                         ifnull(excluded.temperature_high, temperature_high)))sql";

/// A row of readings as a sum.
constexpr const char* kRow =
    "{0}ph_thousandths IS NOT NULL AS ph_rows, {0}ph_thousandths AS ph_low, "
    "ifnull({0}ph_thousandths, 0) AS ph_sum, {0}ph_thousandths AS ph_high, "
    "{0}temperature_hundredths IS NOT NULL AS temperature_rows, "
    "{0}temperature_hundredths AS temperature_low, "
    "ifnull({0}temperature_hundredths, 0) AS temperature_sum, "
    "{0}temperature_hundredths AS temperature_high";

std::string row_of(const char* table) { return fmt::format(fmt::runtime(kRow), table); }

/// The lengths as a table of their own.
std::string lengths() {
  return fmt::format("(SELECT {} AS length UNION ALL SELECT {} UNION ALL SELECT {})", kMinute,
                     kTenMinutes, kTwoHours);
}

std::string keeping() {
  return fmt::format(
      "CREATE TRIGGER IF NOT EXISTS levels_kept AFTER INSERT ON readings BEGIN INSERT INTO levels "
      "SELECT length, NEW.at_s / length * length, NEW.station, {} FROM {} WHERE true {}; END",
      row_of("NEW."), lengths(), kAdded);
}

/// Of the newest rows that are left, as if they had just been written.
std::string of_the_rows() {
  return fmt::format(
      "INSERT INTO levels SELECT length, at_s / length * length, station, {} FROM readings, {} "
      "WHERE readings.rowid <= (SELECT upto FROM rows_left) AND "
      "readings.rowid > (SELECT upto FROM rows_left) - {} {}",
      row_of(""), lengths(), kAtOnce, kAdded);
}

constexpr const char* kMeansColumns = "at_s,station,ph_low,ph_mean,ph_high,temperature_mean,rows";

/// Of these nobody knows in how many rows the temperature was good; all count.
std::string of_the_means() {
  return fmt::format(
      "INSERT INTO levels SELECT length, at_s / length * length, station, "
      "iif(ph_mean IS NULL, 0, rows), ph_low, ifnull(ph_mean * rows, 0), ph_high, "
      "iif(temperature_mean IS NULL, 0, rows), NULL, ifnull(temperature_mean * rows, 0), NULL "
      "FROM (SELECT * FROM means_left ORDER BY at_s DESC, station DESC LIMIT {}), {} "
      "WHERE length > {} {}",
      kAtOnce, lengths(), kMinute, kAdded);
}

std::string of_length(std::int64_t length) {
  return fmt::format(
      "SELECT at_s, ph_rows, ph_low, ph_sum, ph_high, temperature_rows, temperature_low, "
      "temperature_sum, temperature_high FROM levels "
      "WHERE length = {} AND at_s >= ?1 AND at_s < ?2 AND station = ?3",
      length);
}

}  // namespace

Stored<void> begin_levels(const Database& readings) {
  const std::string means = readings.columns("means");
  Stored<void> done;
  if (readings.columns("levels").empty()) {
    if (!means.empty() && means != kMeansColumns) {
      return tl::unexpected(
          StorageError{StorageFault::damaged, "it has a table means of another shape"});
    }
    done = readings.execute(kTable);
    done =
        done && !means.empty() ? readings.execute("ALTER TABLE means RENAME TO means_left") : done;
  } else if (!means.empty()) {
    // An older version left means again, of rows that the levels have.
    done = readings.execute("DROP TABLE means");
  }
  return done ? readings.execute(keeping().c_str()) : done;
}

Stored<Summing> sum_up_older(const Database& readings) {
  const auto rows = readings.number("SELECT count(*) FROM rows_left");
  if (!rows) {
    return tl::unexpected(rows.error());
  }
  const bool means = !readings.columns("means_left").empty();
  if (*rows == 0 && !means) {
    return Summing::done;
  }
  auto done = readings.execute((*rows > 0 ? of_the_rows() : of_the_means()).c_str());
  if (*rows > 0) {
    done = done ? readings.execute(
                      fmt::format("UPDATE rows_left SET upto = upto - {}", kAtOnce).c_str())
                : done;
    done = done ? readings.execute(
                      "DELETE FROM rows_left WHERE NOT EXISTS (SELECT 1 FROM readings "
                      "WHERE rowid <= upto)")
                : done;
  } else {
    done = done ? readings.execute(fmt::format("DELETE FROM means_left WHERE (at_s, station) IN "
                                               "(SELECT at_s, station FROM means_left ORDER BY "
                                               "at_s DESC, station DESC LIMIT {})",
                                               kAtOnce)
                                       .c_str())
                : done;
    const auto more = done ? readings.number("SELECT EXISTS (SELECT 1 FROM means_left)")
                           : tl::unexpected(done.error());
    done = more && *more == 0 ? readings.execute("DROP TABLE means_left") : done;
  }
  return done ? Stored<Summing>{Summing::goes_on} : tl::unexpected(done.error());
}

Stored<Database> readings_beside(const std::string& path) {
  auto readings = Database::beside(path);
  const auto levels =
      readings ? readings->number("SELECT count(*) FROM sqlite_master WHERE name = 'levels'")
               : tl::unexpected(readings.error());
  if (!levels) {
    return tl::unexpected(levels.error());
  }
  if (*levels == 0) {
    return tl::unexpected(StorageError{
        StorageFault::missing, "the sums of " + path +
                                   ", which an older version wrote; this one's daemon makes them "
                                   "when it starts"});
  }
  return readings;
}

std::string summed_alone() {
  return fmt::format(
      "{} AND NOT EXISTS (SELECT 1 FROM levels AS fine WHERE fine.length = {} AND "
      "fine.at_s >= levels.at_s AND fine.at_s < levels.at_s + {} AND "
      "fine.station = levels.station)",
      of_length(kTenMinutes), kMinute, kTenMinutes);
}

std::string summed_readings(std::int64_t step) {
  for (const std::int64_t length : {kTwoHours, kTenMinutes}) {
    if (step % length == 0) {
      return "(" + of_length(length) + ")";
    }
  }
  const std::string fine = step % kMinute == 0
                               ? of_length(kMinute)
                               : fmt::format(
                                     "SELECT at_s, {} FROM readings "
                                     "WHERE at_s >= ?1 AND at_s < ?2 AND station = ?3",
                                     row_of(""));
  return "(" + fine + " UNION ALL " + summed_alone() + ")";
}

}  // namespace limegate::journal
