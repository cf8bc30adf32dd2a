#include "journal/course.h"

#include <algorithm>
#include <array>
#include <cstdint>

namespace limegate::journal {
namespace {

using std::chrono::seconds;

constexpr std::int64_t kFine = 10;     ///< seconds: no row comes more often
constexpr std::int64_t kCoarse = 600;  ///< of the means
constexpr std::int64_t kFineDays = 6;  ///< beyond that a step is whole means

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

Stored<void> add(const Database& database, const char* query, std::vector<Sum>& sums,
                 const std::array<std::int64_t, 3>& from_until_step, const std::string& station) {
  const auto& [from, until, step] = from_until_step;
  const auto row = database.prepare(query);
  row->bind(from, until, step, station);
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

constexpr const char* kRows =
    "SELECT (at_s - ?1) / ?3, count(ph_thousandths), min(ph_thousandths), "
    "total(ph_thousandths), max(ph_thousandths), total(temperature_hundredths), "
    "count(temperature_hundredths) FROM readings "
    "WHERE at_s >= ?1 AND at_s < ?2 AND station = ?4 GROUP BY 1";
/// Of these nobody knows in how many rows the temperature was good; all count.
constexpr const char* kMeans =
    "SELECT (at_s - ?1) / ?3, total(CASE WHEN ph_mean IS NULL THEN 0 ELSE rows END), min(ph_low), "
    "total(ph_mean * rows), max(ph_high), total(temperature_mean * rows), "
    "total(CASE WHEN temperature_mean IS NULL THEN 0 ELSE rows END) FROM means "
    "WHERE at_s >= ?1 AND at_s < ?2 AND station = ?4 GROUP BY 1";

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

}  // namespace

Stored<Course> read_course(const std::string& path, const CourseAsked& asked) {
  const auto database = Database::open(path, Creating::no, Sync::normal);
  if (!database) {
    return tl::unexpected(database.error());
  }
  const std::int64_t span = seconds{asked.span}.count();
  const std::int64_t step = step_of(span);
  const std::int64_t end = std::chrono::floor<seconds>(asked.until.time_since_epoch()).count() + 1;
  const std::int64_t until = (end + step - 1) / step * step;
  const std::int64_t count = (span + step - 1) / step;
  const std::int64_t from = until - count * step;
  std::vector<Sum> sums(static_cast<std::size_t>(count));
  for (const char* query : {kMeans, kRows}) {
    if (auto added = add(*database, query, sums, {from, until, step}, asked.station); !added) {
      return tl::unexpected(added.error());
    }
  }
  Course course{WallTime{seconds{from}}, seconds{step}, {}};
  course.steps.reserve(sums.size());
  for (const Sum& sum : sums) {
    course.steps.push_back(step_of(sum));
  }
  return course;
}

}  // namespace limegate::journal
