#pragma once

#include <string>
#include <string_view>

#include "journal/counts.h"
#include "station/status.h"

namespace limegate::page {

/// How numbers are written for a program that collects them.
enum class MetricsForm {
  open_metrics,  ///< OpenMetrics 1.0
  plain          ///< text format 0.0.4, for collectors that know only that one
};
/// By what a request's Accept says.
[[nodiscard]] MetricsForm form_of(std::string_view accept);
[[nodiscard]] std::string_view media_type_of(MetricsForm form);

/// The overview as metrics, in base units: seconds, degrees Celsius, and liters for volumes. What
/// is not known has no sample. A counter goes on over restarts; where the record of it was lost it
/// is absent until it is known again, or begins anew with another `_created`. `counts`: null where
/// the record can't be read.
[[nodiscard]] std::string metrics_of(const station::Overview& overview,
                                     const journal::Counts* counts, MetricsForm form);

}  // namespace limegate::page
