#pragma once

#include <string>
#include <vector>

#include "config/config.h"

namespace limegate::app {

/// What became of one outlet.
struct OffResult {
  std::string station;
  std::string outlet;  ///< "pump" or "stirrer"
  bool confirmed = false;
};

/// Switches every outlet of the config off and reads each back, all buses at once, again and again
/// for some seconds, with pauses, where one does not confirm (a dying daemon may still hold the
/// port).
[[nodiscard]] std::vector<OffResult> switch_all_off(const config::Config& config);

}  // namespace limegate::app
