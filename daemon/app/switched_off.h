#pragma once

#include <optional>
#include <string>

#include "units/time.h"

namespace limegate::app {

// What `limegate off` leaves for the next start: when it confirmed a station's pump off. A pulse
// that died with the daemon on a board without a timer counts until then, and not until the start.

/// Best effort: without the note more counts. `boot` = of the machine.
void note_switched_off(const std::string& state_dir, const std::string& station,
                       const std::string& boot, Instant at);
/// Absent: no note, one of another boot, or one that can't be read.
[[nodiscard]] std::optional<Instant> switched_off(const std::string& state_dir,
                                                  const std::string& station,
                                                  const std::string& boot);

}  // namespace limegate::app
