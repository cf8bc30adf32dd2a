#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include <tl/expected.hpp>

#include "units/time.h"

namespace limegate::rehearsal {

/// What can go wrong in a rehearsal.
struct Fault {
  enum class Kind {
    ph_silent,
    ph_stuck,
    ph_offset,
    ph_drift,
    temperature_silent,
    bus_silent,
    pump_stuck_on,
    pump_dead,
    pump_fast,
    siphon,
    board_timer_fails,
    stirrer_stuck_on,
    stirrer_dead,
    disk_full,
    crash,
    power_cut,
    clock_step
  } kind{};
  Duration at{};       ///< since the start
  Duration lasting{};  ///< a crash or a power cut: until the program runs again
  double value = 0;    ///< in the unit of the kind
};

/// One line of the catalogue.
struct FaultKind {
  Fault::Kind kind;
  const char* name;
  const char* about;  ///< for people, with the unit of the value
  Duration lasting;   ///< if none is given
  double value;       ///< if none is given
};
[[nodiscard]] const std::vector<FaultKind>& fault_kinds();
[[nodiscard]] const FaultKind& about(Fault::Kind kind);

/// Reads NAME@TIME[:DURATION][=VALUE], such as "ph-offset@36h:2h=0.3"; times in s, min, h or d.
/// Error: what is wrong, and what there is.
[[nodiscard]] tl::expected<Fault, std::string> parse_fault(std::string_view text);

}  // namespace limegate::rehearsal
