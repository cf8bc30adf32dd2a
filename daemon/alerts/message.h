#pragma once

#include <string>
#include <vector>

#include "alerts/kind.h"
#include "alerts/record.h"
#include "units/time.h"

namespace limegate::alerts {

/// One message to people: what needs them, grouped, the cause first. Plain data; never changed.
struct Message {
  /// What is said of the first of its alerts, or of none.
  enum class Type { raised, again, returned, test, all_well };
  struct Item {
    std::string station, id, number;
    std::string state;  ///< of IEC 62682
    Urgency urgency = Urgency::act_now;
    bool latched = false;
    std::string sentence;
    WallTime since;
    int came = 1;
    std::string consequence, action;
    Duration may_wait{};
    std::vector<std::string> explains;  ///< sentences of what follows from it
    std::string cost;                   ///< what it costs by now; may be empty
  };
  std::string id;  ///< the same however often it is delivered
  WallTime at;
  Type type = Type::raised;
  std::vector<Item> alerts = {};  ///< the cause first; empty: a test, or all is well
  std::string subject = {};       ///< one line
  std::string text = {};          ///< whole, for people
};

/// Stable: "raised", "again", "returned", "test", "all-well".
[[nodiscard]] const char* name_of(Message::Type type);

/// A line and a text for people, of what the message holds.
void write_for_people(Message& message);

}  // namespace limegate::alerts
