// A line that can't bring what is wanted in time.

#include <fmt/format.h>

#include "config/line_time.h"
#include "config/question_rows.h"
#include "rules/limits.h"

namespace limegate::config::ask {

Sentence slow_line(const Config& config, const Station& station) {
  if (!station.wiring) {
    return std::nullopt;
  }
  const modbus::BusSettings& bus = config.buses[station.wiring->ph.bus];
  const Duration round = round_of(config, station.wiring->ph.bus);
  if (round > rules::kReadFlowing) {
    const double seconds = in_seconds(round);
    return fmt::format(
        "a round of the line '{}' takes about {:.0f} ms at {} baud, and while the pump runs the pH "
        "is wanted each {:.0f}: it comes {:.1f} times a second. A pulse is ended some {:.0f} ms "
        "later than elsewhere, {:.2f} mL. Raise baud, or give the pH probe a line of its own?",
        bus.name, 1000.0 * seconds, baud_of(bus), 1000.0 * in_seconds(rules::kReadFlowing),
        1.0 / seconds, 1000.0 * in_seconds(round - rules::kReadFlowing),
        in_seconds(round - rules::kReadFlowing) / 60.0 * station.settings.plan.pump_rate.count());
  }
  return std::nullopt;
}

}  // namespace limegate::config::ask
