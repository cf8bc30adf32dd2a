#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "alerts/kind.h"

namespace limegate::delivery {

/// What of a message's CloudEvent delivery goes by.
struct Envelope {
  std::string id, type, source, time;
  std::string subject, text;   ///< for people
  std::string station, alert;  ///< of the first of its alerts; may be empty
  alerts::Urgency urgency = alerts::Urgency::act_now;
  bool for_everyone = false;         ///< a test: no urgency and no delay keeps it back
  std::vector<std::string> numbers;  ///< of the alerts in it that stand
  std::vector<std::string> over;     ///< of the alerts in it that stand no more
};

/// Absent: it is no message of ours.
[[nodiscard]] std::optional<Envelope> envelope_of(std::string_view text);

}  // namespace limegate::delivery
