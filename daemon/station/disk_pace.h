#pragma once

#include <chrono>
#include <deque>
#include <optional>

#include "station/effects.h"
#include "station/observation.h"
#include "units/time.h"

namespace limegate::station {

/// The row of a pulse or a stir must be durable within this, and the guard's record after it. A
/// later one is not acted upon. (Common practice: a worn SD card may take seconds for one write,
/// and minutes when it fails.)
constexpr Duration kWrittenWithin = std::chrono::seconds{5};

/// Whether the disk writes in time what must be written before anything is switched on.
class DiskPace {
 public:
  /// What was asked for is counted; the rest is ignored.
  void asked(Instant now, const Effects& effects);
  /// Rows are answered in the order in which they were asked for.
  void durable(Instant now);
  void take(Instant now, const OutletReport& report);
  /// What was asked for is answered no more.
  void ledger_failed() { waiting_.clear(); }

  /// Once a second; tells a person if it goes on.
  void step(Moment now, Effects& effects);

  /// Nothing is asked for until then. Absent: it was in time.
  [[nodiscard]] std::optional<Instant> slow_until() const { return slow_until_; }

 private:
  void late(Instant now);

  std::deque<Instant> waiting_;  ///< since when each row
  std::optional<Instant> slow_until_;
  std::optional<Instant> slow_since_;  ///< the first of those that came late in a row
  Instant newest_late_{};
  bool told_ = false;
};

}  // namespace limegate::station
