#include "journal/course.h"

#include <algorithm>
#include <cstdint>
#include <utility>

#include <fmt/format.h>

#include "journal/learned_rows.h"
#include "journal/ledger_rows.h"
#include "journal/levels.h"
#include "journal/stored_row.h"
#include "journal/stored_units.h"
#include "station/records.h"

namespace limegate::journal {
namespace {

using std::chrono::seconds;

constexpr std::int64_t kFine = 10;  ///< seconds: no row comes more often

/// Whole steps of a span, in seconds since 1970.
struct Steps {
  std::int64_t from, until, length;
};

/// What falls into one step, in thousandths of pH and hundredths of °C.
struct Sum {
  std::optional<std::int64_t> ph_low, ph_high, temperature_low, temperature_high;
  double ph = 0.0, temperature = 0.0;
  double ph_rows = 0.0, temperature_rows = 0.0;
};

/// The shortest that needs no more than the most steps, of whole sums of the record.
std::int64_t step_of(std::int64_t span) {
  const std::int64_t least = (span + kCourseSteps - 1) / kCourseSteps;
  std::int64_t unit = kFine;
  for (const std::int64_t length : {kMinute, kTenMinutes, kTwoHours}) {
    unit = least >= length ? length : unit;
  }
  return (least + unit - 1) / unit * unit;
}

/// What falls into which step.
constexpr const char* kByTime = "(at_s - ?1) / ?4";
constexpr const char* kByTimeOfDay = "at_s % 86400 / ?4";
constexpr std::int64_t kQuarter = 900;  ///< seconds, of an hour

Stored<std::vector<Sum>> sums_of(const Database& database, const char* which, std::size_t count,
                                 const Steps& steps, const std::string& station) {
  std::vector<Sum> sums(count);
  const auto row = database.prepare(fmt::format(
      "SELECT {}, sum(ph_rows), min(ph_low), total(ph_sum), max(ph_high), sum(temperature_rows), "
      "min(temperature_low), total(temperature_sum), max(temperature_high) FROM {} GROUP BY 1",
      which, summed_readings(steps.length)));
  row->bind(steps.from, steps.until, station, steps.length);
  auto more = row->next();
  for (; more && *more; more = row->next()) {
    sums.at(static_cast<std::size_t>(row->integer(0))) = {
        row->maybe_integer(2), row->maybe_integer(4), row->maybe_integer(6), row->maybe_integer(8),
        row->real(3),          row->real(7),          row->real(1),          row->real(5)};
  }
  return more ? Stored<std::vector<Sum>>{std::move(sums)} : tl::unexpected(more.error());
}

Course::Step step_of(const Sum& sum) {
  Course::Step step;
  const auto scaled = [](std::optional<std::int64_t> value, double unit) {
    return value ? std::optional{static_cast<double>(*value) / unit} : std::nullopt;
  };
  step.ph_low = scaled(sum.ph_low, 1000.0);
  step.ph_high = scaled(sum.ph_high, 1000.0);
  step.temperature_low = scaled(sum.temperature_low, 100.0);
  step.temperature_high = scaled(sum.temperature_high, 100.0);
  if (sum.ph_rows > 0.0) {
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
  const auto database = readings_beside(files.readings);
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
  const auto database = readings_beside(files.readings);
  if (!database) {
    return tl::unexpected(database.error());
  }
  DayOfPh day;
  const auto sums =
      sums_of(*database, kByTimeOfDay, day.was.size(),
              {seconds_of(asked.from), seconds_of(asked.until), kQuarter}, asked.station);
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
