// A keeper's file: whatever is in it, it is refused with a place and a remedy, or it keeps to the
// bounds that no file can pass.
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <string_view>

#include "config/load.h"
#include "fuzz/promise.h"

namespace {

using limegate::Millilitres;
using limegate::Ph;
using limegate::PhChange;
using limegate::fuzz::promise;
using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

// The bounds of DESIGN's table of limits once more, so that a reader that lets one pass is seen.
void judge(const limegate::config::Station& station) {
  const auto& limits = station.settings.limits;
  promise(limits.ceiling <= Ph{8.60}, "the ceiling is within its bound");
  promise(limits.second_ceiling <= Ph{8.70}, "the second ceiling is within its bound");
  promise(limits.climb <= PhChange{0.20}, "the climb is within its bound");
  promise(limits.rise <= PhChange{0.30}, "the rise is within its bound");
  promise(limits.reading_age_max <= 60s, "a reading is young");
  promise(limits.reading_age_flowing <= 5s, "a reading is young while the pump runs");
  promise(limits.settle >= 20min && limits.settle <= 600min, "limewater settles");
  promise(limits.proven >= 1min, "probes are proven");
  promise(limits.pulse_rise <= PhChange{0.05}, "a pulse is small by chemistry");
  promise(limits.hour_rise <= PhChange{0.15}, "an hour is small by chemistry");
  promise(limits.attended_duration <= 15min, "an attended run ends");
  const double water_ml = station.site.water.count() * 1000.0;
  promise(limits.day <= station.site.evaporation_per_day, "a day is within what evaporates");
  promise(limits.day <= Millilitres{water_ml * 0.020 + 1e-6}, "a day is within 20 mL a litre");
  const auto& plan = station.settings.plan;
  promise(plan.pump_rate.count() > 0.0 && std::isfinite(plan.pump_rate.count()), "a pump's rate");
  promise(plan.day_volume <= limits.day, "the plan is within the day's allowance");
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text{reinterpret_cast<const char*>(data), size};
  const auto read = limegate::config::parse(text);
  if (read) {
    for (const auto& station : read->stations) {
      judge(station);
    }
    return 0;
  }
  promise(!read.error().empty(), "a refusal says something");
  for (const auto& problem : read.error()) {
    promise(problem.line >= 0 && !problem.what.empty(), "a problem says what is allowed");
  }
  return 0;
}
