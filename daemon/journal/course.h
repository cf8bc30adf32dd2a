#pragma once

#include <array>
#include <chrono>
#include <optional>
#include <string>
#include <vector>

#include "journal/database.h"
#include "journal/usual_band.h"
#include "units/time.h"

namespace limegate::journal {

/// A station's recorded readings over a span, in steps of equal length, and what it was given. A
/// spike is never lost: each step has its lowest and its highest.
struct Course {
  /// Absent where nothing good enough was written down.
  struct Step {
    std::optional<double> ph_low, ph_mean, ph_high;  ///< own scale
    std::optional<double> temperature;               ///< °C, mean
    /// mL, of pulses that ended within it. Of days that are only a sum: its part of them. Absent
    /// before the station was, and where the ledger can't be read.
    std::optional<double> given = {};
    /// Between what and what pH usually is at that time of day (usual_band.h). Absent in steps of
    /// more than an hour, and where it was not asked for.
    std::optional<UsualBand> usual = {};
    /// °C. Absent also where an older version made means of the rows.
    std::optional<double> temperature_low = {}, temperature_high = {};
  };
  WallTime from;  ///< begin of the first step
  std::chrono::seconds step{};
  std::vector<Step> steps;
  std::optional<WallTime> station_since = {};  ///< absent: the ledger can't be read
};

struct CourseAsked {
  std::string station;
  WallTime from, until;  ///< by the second, and `from` before `until`
  /// A multiple of ten minutes; zero: as long as at most kCourseSteps need.
  std::chrono::seconds step{};
};
/// The files it is read from.
struct RecordFiles {
  std::string readings, ledger;
};
/// The most steps of a course.
constexpr int kCourseSteps = 600;

/// Reads a record beside whoever writes it, from its rows or from what they are summed up to
/// (levels.h). Steps are whole multiples of the record's ten seconds, of a minute, of ten or of two
/// hours, the longer the span; the last one holds `until`. Errors: the readings are not there or
/// can't be read. `usual`: who knows what is usual; null: that is not asked for.
[[nodiscard]] Stored<Course> read_course(const RecordFiles& files, const CourseAsked& asked,
                                         UsualDays* usual = nullptr);

/// pH by the time of day.
struct DayOfPh {
  /// Of each quarter of an hour of the UTC day, what it was over the span.
  std::array<Course::Step, 96> was;
  /// What it usually is without doses, as it was learned (station/usual_course.h). Absent where
  /// nothing was learned, and where the ledger can't be read.
  std::array<std::optional<double>, 96> usual;
};
/// Reads a record beside whoever writes it. Errors: as above.
[[nodiscard]] Stored<DayOfPh> read_day_of_ph(const RecordFiles& files, const CourseAsked& asked);

}  // namespace limegate::journal
