#pragma once

#include <cstdint>
#include <string>

#include "journal/database.h"

namespace limegate::journal {

// What the readings' rows are summed up to, minute by minute, by ten minutes and by two hours, with
// the lowest and the highest, so that a spike is never lost: a year is 4380 rows then, where a slow
// card would have to bring millions. The record's file keeps them itself, as each row is written,
// whichever version of the program writes it.

/// Seconds that one sum is of. Minutes are kept as long as the rows, the other two for five years.
constexpr std::int64_t kMinute = 60;
constexpr std::int64_t kTenMinutes = 600;
constexpr std::int64_t kTwoHours = 7200;

/// Begins them in a record that has none. What an older version left there, rows and ten-minute
/// means, is summed up later. To be called in a transaction, once the readings are there. Errors:
/// `damaged` = there are means of another shape.
[[nodiscard]] Stored<void> begin_levels(const Database& readings);

enum class Summing { goes_on, done };
/// A part of what an older version left, the newest first: to be called in a transaction, again and
/// again until it is done. Five years take hours, and no start waits for them.
[[nodiscard]] Stored<Summing> sum_up_older(const Database& readings);

/// The readings, to be read beside whoever writes them. Errors: they are not there, can't be read,
/// or are an older version's that has no levels.
[[nodiscard]] Stored<Database> readings_beside(const std::string& path);

/// A query in brackets, of a station ?3 from ?1 on and before ?2 in seconds since 1970, each row a
/// sum: at_s, ph_rows, ph_low, ph_sum, ph_high, temperature_rows, temperature_low, temperature_sum,
/// temperature_high, in thousandths of pH and hundredths of °C; of no rows the lowest and highest
/// are NULL, and so are those of the temperature where an older version made a mean of it. The sums
/// are as long as `step` of that many seconds allows; where only ten minutes are left, they are
/// that.
[[nodiscard]] std::string summed_readings(std::int64_t step);
/// The same query without brackets, of those ten minutes alone whose rows are gone.
[[nodiscard]] std::string summed_alone();

}  // namespace limegate::journal
