#pragma once

#include <cstdint>
#include <string>

#include "units/time.h"

namespace limegate::station {

/// A command that was refused, as surfaces show it.
struct Refusal {
  std::string what;         ///< as it was asked for: "set-day-volume", "plan/day-volume"
  std::string by;           ///< "MQTT", "control socket, user keeper"
  std::string why;          ///< in sentences, with what to do instead
  WallTime at;              ///< the last time
  std::uint64_t times = 1;  ///< that the same came in a row
};

}  // namespace limegate::station
