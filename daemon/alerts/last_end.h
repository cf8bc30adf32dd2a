#pragma once

#include <optional>
#include <string>

#include "units/time.h"

namespace limegate::alerts {

/// How the daemon's last run ended, as the service manager said it to what ran after:
/// systemd.exec(5), $SERVICE_RESULT and $EXIT_STATUS. Kept in a small file of the state directory.
struct LastEnd {
  std::string stamp;   ///< of its writing; each end has another
  std::string result;  ///< "success", "exit-code", "signal", "watchdog" ...
  std::string status;  ///< a number or a signal's name; may be empty
};

/// Blocks. False if it can't be written: then nobody will know, and nothing else follows.
[[nodiscard]] bool write_last_end(const std::string& state_dir, const std::string& result,
                                  const std::string& status, WallTime now);
/// Absent: there is none, or it is not whole.
[[nodiscard]] std::optional<LastEnd> read_last_end(const std::string& state_dir);

}  // namespace limegate::alerts
