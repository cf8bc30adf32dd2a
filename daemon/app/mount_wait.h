#pragma once

#include <functional>
#include <string>

#include "config/config.h"

namespace limegate::app {

/// Waits until the directories of state and witness lie on the disks that fstab names for them.
/// Without those nothing is known of a station, and what would be written is not found again: so
/// nothing is begun, and every outlet is switched off at once and then every minute. `missing` says
/// which mount a path waits for, as files::missing_mount. A service manager that loses its patience
/// starts anew.
void wait_for_mounts(const config::Config& config,
                     const std::function<std::string(const std::string& path)>& missing);

}  // namespace limegate::app
