#pragma once

#include <optional>
#include <string>

#include "dosing/account.h"
#include "station/command.h"
#include "units/time.h"

namespace limegate::alerts {

/// The states of IEC 62682 / ISA-18.2 that we have. A latched hold is unacknowledged or
/// acknowledged like any other, and says beside that it is latched.
enum class State { unacknowledged, acknowledged, returned_unacknowledged, shelved };
[[nodiscard]] const char* name_of(State state);

/// A moment as alerts see it.
struct When {
  dosing::Stamp stamp;
  bool wall_trusted = true;
};
/// The time since then: never less than what was observed, and what a trusted wall clock says where
/// that is more (the machine may have been off). Never negative.
[[nodiscard]] Duration elapsed(const dosing::Stamp& since, const When& now);

/// An alert with its whole life, as it is kept over restarts.
struct Record {
  std::string station;  ///< empty: the daemon itself
  std::string id;       ///< of its kind: alerts/kind.h
  std::string number;   ///< of this occurrence, and of no other ever
  std::string sentence;
  dosing::Stamp raised;
  std::optional<dosing::Stamp> over = {};  ///< since when its cause is; absent: it stands
  bool lasting = false;                    ///< until its cause is over; else until it was seen
  bool latched = false;                    ///< and then until a person at the station releases it
  int came = 1;                            ///< times that it was raised
  int told = 0;                            ///< messages that said it, since it was seen last
  std::optional<dosing::Stamp> told_at = {};
  bool changed = false;  ///< since it was told
  bool return_told = false;
  bool owed = false;  ///< it was to be told and is not yet, be it over by now
  struct Seen {
    station::Origin origin = station::Origin::station;
    std::string who;
    dosing::Stamp at;
  };
  std::optional<Seen> seen = {};
  struct Shelf {
    dosing::Stamp at;
    Duration lasting{};
    std::string who, why;
  };
  std::optional<Shelf> shelf = {};

  [[nodiscard]] bool stands() const { return !over.has_value(); }
};

}  // namespace limegate::alerts
