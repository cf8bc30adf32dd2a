#pragma once

#include <string_view>
#include <vector>

#include "units/time.h"

namespace limegate::alerts {

/// How soon a person must act. What needs nobody is an event, and no alert.
enum class Urgency { act_now, act_today, when_you_can };
/// "act-now", "act-today", "when-you-can": for records, screens and messages. Stable.
[[nodiscard]] const char* name_of(Urgency urgency);

/// What a kind of alert means to a person, and how it is told. Terms: IEC 62682 / ISA-18.2.
struct Kind {
  /// Of the alert; one that ends with '*' stands for all that begin so.
  std::string_view id;
  Urgency urgency = Urgency::act_now;
  /// What ends it: its cause is over; a person has seen it; a person at the station releases what
  /// is latched.
  enum class Ends { with_cause, when_seen, by_release } ends = Ends::with_cause;
  /// What it comes to if nobody acts, what to do, and how long that may wait.
  std::string_view consequence, action;
  Duration may_wait{};
  /// It is told once it has stood so long, and over once it has been over so long.
  Duration on_delay{}, off_delay{};
  /// After a start a cause that goes on is found again within this; else it is over.
  Duration found_again_within{};
};

/// One entry for each kind.
[[nodiscard]] const std::vector<Kind>& kinds();
/// The entry of this id; for an unknown id (a latch of a later version) the last one.
[[nodiscard]] const Kind& kind_of(std::string_view id);

/// Whether an alert that stands explains another of the same station, so that the other needs no
/// message of its own.
[[nodiscard]] bool explains(std::string_view cause, std::string_view other);

}  // namespace limegate::alerts
