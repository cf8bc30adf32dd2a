#pragma once

#include <string>
#include <string_view>
#include <variant>

#include "alerts/command.h"

namespace limegate::mqtt {

/// What a message to a `/set` topic asks for.
struct Ordered {
  alerts::Asked command;
};
/// Why it is not even a command, as a sentence.
struct Refused {
  std::string sentence;
};

/// The topic of a `/set` below one device: "plan", "day-volume".
struct SetTopic {
  std::string node;
  std::string property;
};
/// "plan/day-volume"
[[nodiscard]] std::string path_of(const SetTopic& topic);

/// Reads what was sent to a station's property. Pure. Whether the command is obeyed is the
/// station's to say; that a value keeps to its property's format is checked here.
[[nodiscard]] std::variant<Ordered, Refused> read_station_set(const SetTopic& topic,
                                                              std::string_view payload,
                                                              Millilitres day_volume_max);
/// The same for the daemon's own device.
[[nodiscard]] std::variant<Ordered, Refused> read_root_set(const SetTopic& topic,
                                                           std::string_view payload);

}  // namespace limegate::mqtt
