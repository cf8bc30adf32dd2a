#pragma once

#include "app/station_record.h"
#include "config/config.h"
#include "report/document.h"

namespace limegate::app {

/// What a station's record says, as a page: what was given against the plan, pH against its usual
/// course, every hold with its hours, every alert, and what to change.
[[nodiscard]] report::Document report_of(const StationRecord& record,
                                         const config::Station& station);

}  // namespace limegate::app
