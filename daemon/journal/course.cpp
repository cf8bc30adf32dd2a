#include "journal/course.h"

#include <algorithm>
#include <cstdint>
#include <string_view>
#include <utility>

#include <fmt/format.h>

#include "journal/learned_rows.h"
#include "journal/ledger_rows.h"
#include "journal/stored_row.h"
#include "journal/stored_units.h"
#include "station/records.h"

namespace limegate::journal {
namespace {

using std::chrono::seconds;

constexpr std::int64_t kFine = 10;     ///< seconds: no row comes more often
constexpr std::int64_t kCoarse = 600;  ///< of the means
constexpr std::int64_t kFineDays = 6;  ///< beyond that a step is whole means

/// Whole steps of a span, in seconds since 1970.
struct Steps {
  std::int64_t from, until, length;
};

/// What falls into one step, of either table.
struct Sum {
  std::optional<std::int64_t> low, high;  ///< thousandths of pH
  double ph = 0.0, temperature = 0.0;     ///< thousandths and hundredths, each times its rows
  double ph_rows = 0.0, temperature_rows = 0.0;
};

std::int64_t step_of(std::int64_t span) {
  const std::int64_t unit = span > kFineDays * 86400 ? kCoarse : kFine;
  const std::int64_t least = (span + kCourseSteps - 1) / kCourseSteps;
  return std::max(unit, (least + unit - 1) / unit * unit);
}

/// What falls into which step.
constexpr const char* kByTime = "(at_s - ?1) / ?3";
constexpr const char* kByTimeOfDay = "at_s % 86400 / 900";

/// Of `query` the rest stands below: what is summed of either table.
Stored<void> add(const Database& database, std::string_view query, std::vector<Sum>& sums,
                 const Steps& steps, const std::string& station) {
  const auto row = database.prepare(query);
  row->bind(steps.from, steps.until, steps.length, station);
  auto more = row->next();
  for (; more && *more; more = row->next()) {
    Sum& sum = sums.at(static_cast<std::size_t>(row->integer(0)));
    if (row->integer(1) > 0) {
      sum.low = std::min(sum.low.value_or(row->integer(2)), row->integer(2));
      sum.high = std::max(sum.high.value_or(row->integer(4)), row->integer(4));
      sum.ph += row->real(3);
      sum.ph_rows += static_cast<double>(row->integer(1));
    }
    sum.temperature += row->real(5);
    sum.temperature_rows += static_cast<double>(row->integer(6));
  }
  return more ? Stored<void>{} : tl::unexpected(more.error());
}

constexpr std::string_view kRows =
    "SELECT {}, count(ph_thousandths), min(ph_thousandths), "
    "total(ph_thousandths), max(ph_thousandths), total(temperature_hundredths), "
    "count(temperature_hundredths) FROM readings "
    "WHERE at_s >= ?1 AND at_s < ?2 AND station = ?4 GROUP BY 1";
/// Of these nobody knows in how many rows the temperature was good; all count.
constexpr std::string_view kMeans =
    "SELECT {}, total(CASE WHEN ph_mean IS NULL THEN 0 ELSE rows END), min(ph_low), "
    "total(ph_mean * rows), max(ph_high), total(temperature_mean * rows), "
    "total(CASE WHEN temperature_mean IS NULL THEN 0 ELSE rows END) FROM means "
    "WHERE at_s >= ?1 AND at_s < ?2 AND station = ?4 GROUP BY 1";

Stored<std::vector<Sum>> sums_of(const Database& database, const char* which, std::size_t count,
                                 const Steps& steps, const std::string& station) {
  std::vector<Sum> sums(count);
  for (const std::string_view query : {kMeans, kRows}) {
    if (auto added = add(database, fmt::format(fmt::runtime(query), which), sums, steps, station);
        !added) {
      return tl::unexpected(added.error());
    }
  }
  return sums;
}

Course::Step step_of(const Sum& sum) {
  Course::Step step;
  if (sum.ph_rows > 0.0) {
    step.ph_low = static_cast<double>(*sum.low) / 1000.0;
    step.ph_high = static_cast<double>(*sum.high) / 1000.0;
    step.ph_mean = sum.ph / sum.ph_rows / 1000.0;
  }
  if (sum.temperature_rows > 0.0) {
    step.temperature = sum.temperature / sum.temperature_rows / 100.0;
  }
  return step;
}

constexpr std::int64_t kDay = 86400;

/// µL by step. Sums of whole days stand for what is older than 90 days.
Stored<std::vector<double>> given_in(const Database& ledger, const Steps& steps,
                                     const std::string& station) {
  std::vector<double> given(static_cast<std::size_t>((steps.until - steps.from) / steps.length));
  const auto row = ledger.prepare(fmt::format(
      "SELECT (end_wall_ms / 1000 - ?1) / ?3, total(counted_ul) FROM "
      "(SELECT * FROM {} UNION ALL SELECT * FROM {}) WHERE station = ?4 AND id > 0 AND fate IN "
      "({}, {}) AND end_wall_ms >= ?1 * 1000 AND end_wall_ms < ?2 * 1000 GROUP BY 1",
      PulseRow::kTable, PastPulseRow::kTable, static_cast<int>(station::Fate::given),
      static_cast<int>(station::Fate::cut_short)));
  row->bind(steps.from, steps.until, steps.length, station);
  auto more = row->next();
  for (; more && *more; more = row->next()) {
    given.at(static_cast<std::size_t>(row->integer(0))) += row->real(1);
  }
  const auto day = ledger.prepare(fmt::format(
      "SELECT day * {0}, volume_ul FROM {1} WHERE station = ?3 AND day * {0} > ?1 - {0} AND "
      "day * {0} < ?2",
      kDay, DayRow::kTable));
  day->bind(steps.from, steps.until, station);
  for (more = more ? day->next() : more; more && *more; more = day->next()) {
    const std::int64_t first = std::max(day->integer(0), steps.from);
    const std::int64_t last = std::min(day->integer(0) + kDay, steps.until);
    for (std::int64_t at = first; at < last;) {
      const std::int64_t step = (at - steps.from) / steps.length;
      const std::int64_t end = std::min(steps.from + (step + 1) * steps.length, last);
      given.at(static_cast<std::size_t>(step)) +=
          day->real(1) * static_cast<double>(end - at) / static_cast<double>(kDay);
      at = end;
    }
  }
  return more ? Stored<std::vector<double>>{std::move(given)} : tl::unexpected(more.error());
}

/// What can't be read stays unknown: the readings are shown without it.
void add_given(const std::string& path, const Steps& steps, const std::string& station,
               Course& course) {
  const auto ledger = Database::beside(path);
  if (!ledger) {
    return;
  }
  const auto row = ledger->prepare(
      fmt::format("SELECT added_wall_ms / 1000 FROM {} WHERE name = ?1", StationRow::kTable));
  row->bind(station);
  const auto known = row->next();
  const auto given = given_in(*ledger, steps, station);
  if (!known || !*known || !given) {
    return;
  }
  course.station_since = WallTime{seconds{row->integer(0)}};
  for (std::size_t i = 0; i < course.steps.size(); ++i) {
    const std::int64_t end = steps.from + static_cast<std::int64_t>(i + 1) * steps.length;
    if (end > row->integer(0)) {
      course.steps[i].given = given->at(i) / 1000.0;
    }
  }
}

Stored<void> add_usual(const Database& database, const Steps& steps, const std::string& station,
                       UsualDays* usual, Course& course) {
  if (usual == nullptr || course.step > std::chrono::hours{1}) {
    return {};
  }
  const auto day = usual->of(database, station, steps.until);
  if (!day) {
    return tl::unexpected(day.error());
  }
  std::int64_t middle = steps.from + steps.length / 2;
  for (Course::Step& step : course.steps) {
    const auto quarters = static_cast<std::int64_t>(day->size());
    step.usual = day->at(static_cast<std::size_t>((middle % kDay + kDay) % kDay * quarters / kDay));
    middle += steps.length;
  }
  return {};
}

}  // namespace

Stored<Course> read_course(const RecordFiles& files, const CourseAsked& asked, UsualDays* usual) {
  const auto database = Database::beside(files.readings);
  if (!database) {
    return tl::unexpected(database.error());
  }
  const std::int64_t span =
      std::max<std::int64_t>(seconds_of(asked.until) - seconds_of(asked.from), 1);
  const std::int64_t step = asked.step > seconds{0} ? asked.step.count() : step_of(span);
  const std::int64_t count = (span + step - 1) / step;
  const std::int64_t until = seconds_of(asked.until) / step * step + step;
  const Steps steps{until - count * step, until, step};
  const auto sums =
      sums_of(*database, kByTime, static_cast<std::size_t>(count), steps, asked.station);
  if (!sums) {
    return tl::unexpected(sums.error());
  }
  Course course{WallTime{seconds{steps.from}}, seconds{step}, {}};
  course.steps.reserve(sums->size());
  for (const Sum& sum : *sums) {
    course.steps.push_back(step_of(sum));
  }
  if (auto added = add_usual(*database, steps, asked.station, usual, course); !added) {
    return tl::unexpected(added.error());
  }
  add_given(files.ledger, steps, asked.station, course);
  return course;
}

Stored<DayOfPh> read_day_of_ph(const RecordFiles& files, const CourseAsked& asked) {
  const auto database = Database::beside(files.readings);
  if (!database) {
    return tl::unexpected(database.error());
  }
  DayOfPh day;
  const auto sums = sums_of(*database, kByTimeOfDay, day.was.size(),
                            {seconds_of(asked.from), seconds_of(asked.until), 1}, asked.station);
  if (!sums) {
    return tl::unexpected(sums.error());
  }
  std::transform(sums->begin(), sums->end(), day.was.begin(),
                 [](const Sum& sum) { return step_of(sum); });
  if (const auto ledger = Database::beside(files.ledger)) {
    const auto rows = select<QuarterRow>(*ledger, " WHERE station = ?1");
    rows->bind(asked.station);
    for (auto more = rows->next(); more && *more; more = rows->next()) {
      const auto [row, sound] = row_from<QuarterRow>(*rows);
      const auto quarter = static_cast<std::size_t>(row.quarter);
      if (sound && quarter < day.usual.size() && row.days > 0) {
        day.usual.at(quarter) = row.mean;
      }
    }
  }
  return day;
}

}  // namespace limegate::journal
