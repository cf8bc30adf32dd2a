#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "dosing/account.h"
#include "dosing/volumes_in_force.h"
#include "rules/judge.h"
#include "signal/day_course.h"
#include "signal/watched_climb.h"
#include "station/records.h"
#include "station/usual_course.h"
#include "units/time.h"

namespace limegate::station {

/// What a run saw of the pH, for the next one in the same boot: a restart frees no climb.
struct SeenBefore {
  signal::WatchedClimb::Past ph;
  std::optional<UsualCourse::Left> left = {};  ///< beside the usual course
  std::optional<rules::Memory::AtRest> climb_at_rest = {};
  bool risen = false, disagreed = false;  ///< whether these were tripped
};

/// What of it can be true and is of the last `window`; older than that it says nothing.
[[nodiscard]] std::optional<SeenBefore> believable(const std::optional<SeenBefore>& seen,
                                                   Instant now, Duration window);

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
  /// The newest of them, as it is shown.
  struct Given {
    WallTime begun;
    Millilitres volume;
  };
  std::optional<Given> last_given = {};
  /// Of all closed pulses of which something was given, as far back as the record goes; for display
  /// only. Absent: not known.
  std::optional<Millilitres> given_in_all = Millilitres{0.0};
  std::int64_t newest_pulse_id = 0;
  Duration newest_end{};  ///< observed uptime at the end of the newest pulse; zero: there was none
  /// The newest pulse, if its row was never closed: water may flow still.
  std::optional<PulseRecord> open_pulse;
  /// By another program, after that, in this boot.
  std::optional<Instant> pump_switched_off;
  /// When an outlet was found on, although nobody had commanded it, last.
  std::optional<dosing::Stamp> pump_found_on, stirrer_found_on;
  /// Observed uptime from the begin of the newest stir to the newest row of all. Absent: no stir
  /// was ever recorded.
  std::optional<Duration> dosed_since_stir;
  std::int64_t newest_stir_id = 0;
  std::optional<LastStir> last_stir;
  std::optional<SeenBefore> seen;    ///< by an earlier run, if it was in this boot
  std::vector<std::string> latches;  ///< codes of holds that wait for a person
  std::vector<Wish> wishes;
  std::vector<dosing::VolumeInForce> volumes;  ///< of the last 24 h and the newest; oldest first
  /// When the newest pulse was decided, on this boot's clock.
  std::optional<Instant> newest_reserved;
  signal::DayCourse::Quarters usual_course{};  ///< of pH, as far as it was learned
  LearnedEffect effect;                        ///< of doses, as far as it was learned
  std::vector<DoseCycle> dose_cycles;          ///< of the last 24 h; oldest first
  LearnedAnchor anchor;                        ///< of doses, held against chemistry
  std::vector<BookEntry> book;                 ///< the keeper's; by number
  LearnedReference reference;                  ///< of pH, and the eased volume
  /// lifetime = monotonic time + this. What the machine was up in this boot before its ledger was
  /// first opened is not credited, so this may be negative.
  Duration lifetime_before_boot{};
};

/// What another record says beside the ledger: a second copy that was written by another path.
struct SecondCopy {
  std::int64_t newest_sent = 0;  ///< id of the newest pulse whose command may have gone out
  struct Kept {
    std::vector<std::string> latches;
    std::vector<Wish> wishes;
  };
  std::optional<Kept> kept;  ///< absent: it was written before these were kept there
};

/// Whether a latch can have this code: lower case, digits, hyphens; 64 characters at most.
[[nodiscard]] bool well_formed_code(const std::string& code);

/// When limewater was given last, on this boot's clock: before it began, if that was in an earlier
/// boot. Absent: never. A record that was lost counts as just now.
[[nodiscard]] std::optional<Instant> limewater_since(const History& history, Instant now);
/// Since when nothing was given, on this boot's clock: where nothing ever was, since the station is
/// known, so that restarts hide no silence.
[[nodiscard]] Instant silent_since(const History& history, Instant now);

/// Whether the station was hardly dosed yet, and no volume was ever said at it. A ledger that was
/// lost tells of nothing new.
[[nodiscard]] bool is_new(const History& history);

}  // namespace limegate::station
