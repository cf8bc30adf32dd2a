#pragma once

#include <optional>

#include "mqtt/inbox.h"
#include "station/records.h"
#include "units/time.h"

namespace limegate::mqtt {

/// Tells of messages that were dropped: when it begins, how many every ten minutes, and that it is
/// over. So a flood costs three lines.
/// Threads: one owner.
class DroppedReport {
 public:
  [[nodiscard]] std::optional<station::Event> take(const Inbox::Dropped& dropped, Moment now);

 private:
  Inbox::Dropped total_;
  Instant newest_{};
  Instant told_{};
};

}  // namespace limegate::mqtt
