#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "dosing/account.h"
#include "signal/day_course.h"
#include "station/records.h"
#include "units/time.h"

namespace limegate::station {

/// What the ledger says at start.
struct History {
  /// The last stir, where it ended in *this* boot of the machine. Absent = it ended just now.
  struct LastStir {
    Instant start;
    Instant end;
  };
  std::vector<dosing::Dose> doses;  ///< of the last 24 h; open and damaged rows in full
  /// The end of the newest pulse that is known to have been given, if only in part.
  std::optional<dosing::Stamp> newest_given;
  std::int64_t newest_pulse_id = 0;
  std::int64_t newest_stir_id = 0;
  std::optional<LastStir> last_stir;
  std::vector<std::string> latches;  ///< codes of holds that wait for a person
  std::vector<Wish> wishes;
  signal::DayCourse::Quarters usual_course{};  ///< of pH, as far as it was learned
  LearnedEffect effect;                        ///< of doses, as far as it was learned
  LearnedReference reference;                  ///< of pH, and the eased volume
  /// Observed uptime of all boots before this one: lifetime = monotonic time + this.
  Duration lifetime_before_boot{};
};

/// When limewater was given last, on this boot's clock: before it began, if that was in an earlier
/// boot. Absent: never. A record that was lost counts as just now.
[[nodiscard]] std::optional<Instant> limewater_since(const History& history, Instant now);

/// Whether the station was hardly dosed yet, and no volume was ever said at it. A ledger that was
/// lost tells of nothing new.
[[nodiscard]] bool is_new(const History& history);

}  // namespace limegate::station
