#include "journal/usual_band.h"

#include <algorithm>
#include <vector>

#include <fmt/format.h>

#include "journal/levels.h"

namespace limegate::journal {
namespace {

constexpr std::int64_t kHour = 3600;
constexpr std::int64_t kDay = 24 * kHour;
constexpr std::int64_t kQuarter = kDay / std::tuple_size_v<UsualDay>;
constexpr std::int64_t kDays = 14;
constexpr std::size_t kDaysLeast = 7;

Stored<UsualDay> read_day(const Database& readings, const std::string& station,
                          std::int64_t until_s) {
  std::array<std::vector<double>, std::tuple_size_v<UsualDay>> seen;
  const auto row = readings.prepare(
      fmt::format("SELECT at_s / ?4, total(ph_sum) / total(ph_rows) FROM {} GROUP BY 1 "
                  "HAVING sum(ph_rows) > 0",
                  summed_readings(kQuarter)));
  row->bind(until_s - (kDays + 1) * kDay, until_s - kDay, station, kQuarter);
  auto more = row->next();
  for (; more && *more; more = row->next()) {
    const auto quarters = static_cast<std::int64_t>(seen.size());
    seen.at(static_cast<std::size_t>((row->integer(0) % quarters + quarters) % quarters))
        .push_back(row->real(1) / 1000.0);
  }
  if (!more) {
    return tl::unexpected(more.error());
  }
  UsualDay day;
  for (std::size_t i = 0; i < seen.size(); ++i) {
    std::vector<double>& days = seen.at(i);
    if (days.size() >= kDaysLeast) {
      std::sort(days.begin(), days.end());
      day.at(i) = {days[1], days[days.size() - 2]};
    }
  }
  return day;
}

}  // namespace

Stored<UsualDay> UsualDays::of(const Database& readings, const std::string& station,
                               std::int64_t until_s) {
  const std::int64_t hour = until_s / kHour * kHour;
  const auto known = known_.find(station);
  if (known != known_.end() && known->second.until_s == hour) {
    return known->second.day;
  }
  auto day = read_day(readings, station, hour);
  if (day) {
    known_[station] = {hour, *day};
  }
  return day;
}

}  // namespace limegate::journal
