#pragma once

#include <cstddef>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "journal/database.h"
#include "station/records.h"
#include "units/time.h"

namespace limegate::journal {

/// The code by which the daemon tells that it has started.
constexpr const char* kStarted = "started";

/// What was told of a station within a span: events, and from when until when each hold stood.
struct Happenings {
  /// As it was told. Severity as stored; an unknown one counts as an alert.
  struct Told {
    WallTime at;
    station::Severity severity = station::Severity::info;
    std::string code, sentence;
  };
  struct Held {
    std::string code;      ///< of the hold (rules/hold.h)
    std::string sentence;  ///< as it was told when it began
    WallTime since;
    std::optional<WallTime> until;  ///< absent: it stood when the span ended
  };
  std::vector<Told> events;     ///< newest first
  bool older_events = false;    ///< the span has more than these: ask for what came before the last
  std::vector<Held> holds;      ///< by when they began
  std::size_t short_holds = 0;  ///< that are left out
};

struct HappeningsAsked {
  std::string station;   ///< empty: the daemon itself
  WallTime from, until;  ///< by the second, both within it; `from` not after `until`
};
/// The most that are told at once. Of holds the longest stay, and none that is shorter than a 600th
/// of the span: as wide as nothing on an axis.
constexpr std::size_t kEventsMost = 500;
constexpr std::size_t kHoldsMost = 500;

/// Reads the record of events beside whoever writes it. A start of the daemon ends what stood: what
/// stands still is told anew. A hold that began before the span is looked for in the thirty days
/// before it. Errors: the record is not there or can't be read.
[[nodiscard]] Stored<Happenings> read_happenings(const std::string& path,
                                                 const HappeningsAsked& asked);

/// All holds of a span, the short ones too, by when they began. Errors: the same.
[[nodiscard]] Stored<std::vector<Happenings::Held>> read_holds(const std::string& path,
                                                               const HappeningsAsked& asked);
/// All events of a span, oldest first, each handed on as it is read. Errors: the same.
[[nodiscard]] Stored<void> read_events(const std::string& path, const HappeningsAsked& asked,
                                       const std::function<void(const Happenings::Told&)>& take);

}  // namespace limegate::journal
