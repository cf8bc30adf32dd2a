#pragma once

#include <string>

#include "app/check_command.h"

namespace limegate::app {

/// `limegate off`: what is on goes off, and every outlet is read back. See app/off_config.h for
/// which outlets, by `file` and `state_dir`; either may be empty. A daemon that runs is asked to
/// stay off; not where the service manager runs this at the daemon's end. Returns an ExitCode.
[[nodiscard]] int off(const std::string& file, const std::string& state_dir, Format format);

/// The same in the place of a daemon that had to end, asking nobody. Returns kNotConfirmed always:
/// whoever watches over the daemon is to start it again.
[[nodiscard]] int off_after_hang(const std::string& file, const std::string& state_dir);

}  // namespace limegate::app
