#pragma once

#include <functional>
#include <optional>
#include <string>

#include "journal/course.h"
#include "journal/database.h"
#include "units/quantities.h"
#include "units/time.h"

namespace limegate::journal {

// The rows of a record one by one, as they were kept, for other programs.

/// What the probes showed at a moment; of what is older than 14 days, in the ten minutes from then
/// on, with a mean, and of pH the lowest and the highest.
struct RecordedReading {
  WallTime at;
  bool mean = false;
  std::optional<double> ph, ph_low, ph_high;  ///< own scale; the last two of means alone
  std::optional<double> temperature;          ///< °C
};
/// What a pulse gave that ended then; of what is older than 90 days, what was given within the UTC
/// day that began then.
struct RecordedVolume {
  WallTime at;
  bool day = false;
  Millilitres volume;
};

/// Hands on, by time, what was recorded at `asked.from` or later and before `asked.until`, as it is
/// read beside whoever writes it; `asked.step` says nothing. Errors: the readings (the ledger) are
/// not there or can't be read.
[[nodiscard]] Stored<void> read_readings(const RecordFiles& files, const CourseAsked& asked,
                                         const std::function<void(const RecordedReading&)>& take);
[[nodiscard]] Stored<void> read_volumes(const RecordFiles& files, const CourseAsked& asked,
                                        const std::function<void(const RecordedVolume&)>& take);

}  // namespace limegate::journal
