#pragma once

#include <string>

#include "config/config.h"

namespace limegate::app {

/// Releases a latched hold in the ledger of a daemon that does not run. Its cause is judged anew at
/// the next start. Returns an ExitCode.
[[nodiscard]] int release_stopped(const config::Config& config, const std::string& station,
                                  const std::string& hold);

}  // namespace limegate::app
