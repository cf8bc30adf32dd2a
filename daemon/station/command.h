#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <variant>

#include "care/book.h"
#include "units/quantities.h"
#include "units/time.h"

namespace limegate::station {

/// The keeper's own hold; it ends by itself. Longer than 24 h is cut to 24 h.
struct Pause {
  Duration lasting = std::chrono::hours{2};
};
/// Ends a pause, and no other hold.
struct Resume {};
/// Work at the reactor: paused, and the stirrer rests. However it ends, the limewater counts as
/// stirred until then. Longer than 24 h is cut to 24 h.
struct Service {
  Duration lasting = std::chrono::hours{2};
};
/// So much a day while the keeper is away, if that is less; then as before by itself. 60 days at
/// most.
struct Away {
  Duration lasting = {};
  Millilitres volume;
};
/// Ends being away.
struct Back {};
/// Releases a latched hold whose cause is gone.
struct Release {
  std::string hold;
};
/// The volume to give each day from the next clear window on.
struct SetDayVolume {
  Millilitres volume;
};
/// Stirs once, now, and goes on in its rhythm.
struct StirNow {};
/// Priming or pump calibration with a person beside it: one bounded run that counts in full. Every
/// hold applies.
struct RunAttended {
  Millilitres volume;
};
/// Forgets the usual course of the day: it is learned anew in a week. And what doses do now is no
/// decline.
struct Relearn {};
/// Pump and stirrer off at once, and they stay off until a person releases it.
struct SwitchAllOff {};
/// What an attended run that has just ended gave, as measured in a cylinder: the pump's rate.
struct ConfirmRate {
  Millilitres collected;
};

/// Writes into the keeper's book.
struct WriteEntry {
  care::Written row;                                  ///< without its time
  std::optional<WallTime> at = {};                    ///< absent: now
  enum class Said { once, again } said = Said::once;  ///< again: what was asked back is so
};
/// Takes an entry of it back; it stays in the book as one that was taken back.
struct UndoEntry {
  std::int64_t number = 0;
};

using Command = std::variant<Pause, Resume, Release, SetDayVolume, StirNow, RunAttended, Relearn,
                             SwitchAllOff, ConfirmRate, WriteEntry, UndoEntry, Service, Away, Back>;

/// Where a command comes from: a person at the station (control socket), or anywhere else. From
/// afar one can only hold back.
enum class Origin { station, afar };

struct Answer {
  enum class Verdict { accepted, refused } verdict;
  std::string sentence;  ///< what will be done, or why not and what to do instead
};

/// A stable name for records and topics: "pause", "set-day-volume".
[[nodiscard]] const char* name_of(const Command& command);

/// Whether this kind of command may come from there at all.
[[nodiscard]] bool permits(Origin origin, const Command& command);

}  // namespace limegate::station
