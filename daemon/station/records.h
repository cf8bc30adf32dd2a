#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "care/book.h"
#include "dosing/account.h"
#include "station/refusal.h"
#include "units/quantities.h"
#include "units/time.h"

namespace limegate::station {

/// How a pulse ended, as far as the ledger knows. `open` counts in full. `presumed` stands for what
/// may have been given while the record was missing or damaged, `presumed_moved` for what another
/// copy of it may know, until a person says that this is the one, `found` for what may have flowed
/// while somebody else had switched the pump on, `unsure` for a pulse that the program died over:
/// it counts in full, and whether it was ever sent nobody knows. Values are stored: never renumber.
enum class Fate {
  open = 0,
  given = 1,
  cut_short = 2,
  not_given = 3,
  presumed = 4,
  found = 5,
  presumed_moved = 6,
  unsure = 7
};

/// A pulse as it is written before the pump may run.
struct PulseRecord {
  std::int64_t id = 0;
  Millilitres volume;      ///< at the highest plausible pump rate; counts in full until closed
  Duration duration{};     ///< zero: nobody commanded it, so nothing but an off ends it
  dosing::Stamp reserved;  ///< when it was decided; or when the pump was last known to be off
  dosing::Stamp end;       ///< no part of it can flow later
};

/// A stir as it is written before the stirrer may run.
struct StirRecord {
  std::int64_t id = 0;
  Duration duration{};  ///< zero: the stirrer was found on, nobody commanded it
  dosing::Stamp start;
};

/// What the keeper asked for beside the owner's file, as it is kept over restarts.
struct Wish {
  /// Values are stored: never renumber.
  enum class What {
    volume_in_file = 0,  ///< the file under which the next two were set
    volume_at_station = 1,
    volume_from_afar = 2,
    pause_at_station = 3,
    pause_from_afar = 4,
    service = 5,  ///< a person works at the reactor, for so long
    away = 6      ///< so much a day, for so long
  } what{};
  Millilitres volume = {};
  Duration lasting = {};  ///< of a pause, of work at the reactor, and of being away
  dosing::Stamp asked = {};
};

/// What doses were seen to do, as a share of what chemistry expects of them.
struct LearnedEffect {
  double share = 1.0;
  int days = 0;  ///< that it was learned on
  friend bool operator==(const LearnedEffect&, const LearnedEffect&) = default;
};

/// What the doses of one cycle of the stirrer did, kept for a day.
struct DoseCycle {
  Duration at{};  ///< observed uptime
  double seen = 0.0, expected = 0.0;
  double value_then = 0.0, expected_then = 0.0;  ///< pH and what doses add to it, at its end
  bool taught = false;                           ///< the day that it completed was learned from
};

/// What of the doses is held against chemistry, and what it came to.
struct LearnedAnchor {
  std::optional<double> first_share = {};  ///< the effect of doses when it was first learned
  /// Confirmed by a timed run that a person measured, or contradicted by one. Absent: never.
  std::optional<MillilitresPerMinute> confirmed_rate = {}, contradicted_rate = {};
  /// In the file when doses were judged last: under another one nothing was learned.
  std::optional<MillilitresPerMinute> rate = {};
  /// Whether doses were seen to do more than any sound station's; the day's volume is halved.
  bool beyond_chemistry = false;
  friend bool operator==(const LearnedAnchor&, const LearnedAnchor&) = default;
};

/// What pH was before dosing began, and how far the day's volume is eased because it rose since.
struct LearnedReference {
  std::optional<Ph> ph = {};   ///< the mean of undosed days
  double share = 1.0;          ///< of the day's volume that is given
  dosing::Stamp changed = {};  ///< when the share was changed last
  friend bool operator==(const LearnedReference&, const LearnedReference&) = default;
};

/// What the keeper wrote into the book of the station. Nothing of it is ever gone: what was taken
/// back stays, and says so.
struct BookEntry {
  std::int64_t number = 0;  ///< from 1 on, in the order of their writing
  dosing::Stamp entered;
  care::Written row;
  std::optional<WallTime> undone = {};  ///< taken back then
  // What the station knew when it was entered; absent: nothing.
  std::optional<Millilitres> given_before = {};  ///< limewater in all, by closed pulses
  std::optional<Ph> ph_shown = {};               ///< by the probe
};

/// No pause lasts longer; it can be asked for again.
constexpr Duration kPauseMax = std::chrono::hours{24};
/// Nobody is away for longer.
constexpr Duration kAwayMax = std::chrono::days{60};

enum class Severity { info, warning, alert };  ///< alert = a person must act
/// For records and surfaces: "info", "warning", "alert".
[[nodiscard]] constexpr const char* name_of(Severity severity) {
  return severity == Severity::info ? "info" : severity == Severity::warning ? "warning" : "alert";
}

/// Something that happened, in one sentence that every surface shows alike.
struct Event {
  WallTime at;
  Severity severity = Severity::info;
  std::string code;  ///< stable, lower case with hyphens
  std::string sentence;
  /// Of an alert: its id, if it lasts until an event ends it. Without one it lasts until a person
  /// has seen it, and `code` is its id.
  std::string begins = {};
  std::string ends = {};                ///< the id of an alert that is over with this; empty = none
  std::optional<Refusal> refusal = {};  ///< of a command, if this tells of one
  std::string about = {};  ///< the bus, where that is to be told apart; empty: the station
};

/// Tells of a command that was refused: every surface says it alike.
[[nodiscard]] inline Event event_of(const Refusal& refusal) {
  return {refusal.at,
          Severity::warning,
          "command-refused",
          "By " + refusal.by + ": " + refusal.what + " refused. " + refusal.why,
          {},
          {},
          refusal};
}

}  // namespace limegate::station
