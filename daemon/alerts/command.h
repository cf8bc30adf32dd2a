#pragma once

#include <string>
#include <variant>

#include "station/command.h"
#include "units/time.h"

namespace limegate::alerts {

/// "Seen": it releases nothing. Empty = every alert of the station, or of the daemon.
struct Acknowledge {
  std::string alert;
};
/// Keeps an alert quiet for a time, with a reason. At the station only.
struct Shelve {
  std::string alert;
  Duration lasting{};
  std::string why;
};
using Command = std::variant<Acknowledge, Shelve>;
/// What a person or a program may ask for.
using Asked = std::variant<station::Command, Command>;

/// As station::name_of, and the same of these: "acknowledge", "shelve".
[[nodiscard]] const char* name_of(const Command& command);
[[nodiscard]] const char* name_of(const Asked& asked);

}  // namespace limegate::alerts
