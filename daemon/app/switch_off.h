#pragma once

#include <chrono>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "app/daemon_asked.h"
#include "config/config.h"

namespace limegate::app {

/// What became of one outlet.
struct OffResult {
  std::string station;
  std::string outlet;  ///< "pump" or "stirrer"
  enum class Off { not_confirmed, confirmed, confirmed_by_daemon } off = Off::not_confirmed;
};
struct OffResults {
  std::vector<OffResult> outlets;
  DaemonSays daemon;
  /// The lines, where one has not answered yet: they end when it has, and a program that is done
  /// need not wait for that. Null: all have ended.
  std::shared_ptr<void> busy = {};
};

/// Switches every outlet of the config off and reads each back, all buses at once, again and again
/// until `within` is over, with pauses, where one does not confirm (a dying daemon may still hold
/// the port). Meanwhile the daemon behind `control` is asked to stay off; an outlet that can't be
/// reached from here, as on a line that the daemon holds, is off when the daemon has confirmed it.
/// Without a socket nobody is asked.
[[nodiscard]] OffResults switch_all_off(const config::Config& config,
                                        const std::optional<std::string>& control,
                                        std::chrono::seconds within);

}  // namespace limegate::app
