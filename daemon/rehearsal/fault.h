#pragma once

#include <algorithm>
#include <array>
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
    ph_noise,
    ph_slow,
    ph_unplugged,
    ph_dry,
    ph_hum,
    ph_not_a_number,
    ph_slope,
    ph_compensation,
    ph_fouling,
    second_silent,  ///< of the second pH probe, in the same order
    second_stuck,
    second_offset,
    second_drift,
    second_noise,
    second_slow,
    second_unplugged,
    second_dry,
    second_hum,
    second_not_a_number,
    second_slope,
    second_compensation,
    second_fouling,
    temperature_silent,
    temperature_offset,
    bus_silent,
    outlets_silent,
    replies_lost,
    replies_late,
    pump_stuck_on,
    pump_relay_dead,
    board_timer_fails,
    pump_dead,
    pump_fast,
    pump_worn,
    pump_overrun,
    pump_switched,
    siphon,
    stirrer_stuck_on,
    stirrer_dead,
    stirrer_input_stuck,
    milk,
    powder_spent,
    limewater_spoiled,
    hand_dosed,
    precipitation,
    top_off,
    room_co2,
    disk_full,
    disk_slow,
    ledger_lost,
    ledger_older,
    state_older,
    state_moved,
    ledger_damaged,
    inputs_change,
    inputs_silent,
    switched_off,
    alkalinity_tested,
    afar_commands,
    crash,
    power_cut,
    clock_step,
    clock_unset,
    count  ///< how many there are
  } kind{};
  Duration at{};       ///< since the start
  Duration lasting{};  ///< of what puts the program down: until it runs again
  double value = 0;    ///< in the unit of the kind
};

/// One line of the catalogue.
struct FaultKind {
  Fault::Kind kind;
  const char* name;
  const char* about;  ///< for people, with the unit of the value
  Duration lasting;   ///< if none is given
  double value;       ///< if none is given
  /// Whether it makes limewater flow, or milk, beyond what was commanded: such a fault has a bound.
  enum class Physical { no, yes } physical = Physical::no;
};
[[nodiscard]] const std::vector<FaultKind>& fault_kinds();
[[nodiscard]] const FaultKind& about(Fault::Kind kind);
/// Whether the program is down for as long as it lasts.
[[nodiscard]] bool puts_down(Fault::Kind kind);

/// Reads NAME@TIME[:DURATION][=VALUE], such as "ph-offset@36h:2h=0.3"; times in s, min, h or d.
/// It must begin within `rehearsed`.   Error: what is wrong, and what there is.
[[nodiscard]] tl::expected<Fault, std::string> parse_fault(std::string_view text,
                                                           Duration rehearsed);
/// The same text again, in days, hours or minutes where they are whole ones.
[[nodiscard]] std::string to_text(const Fault& fault);
/// A time as parse_fault() reads it: "2d", "36h", "90min", "45s".
[[nodiscard]] std::string time_text(Duration time);

/// The faults of this moment, at most one of each kind.
class ActiveFaults {
 public:
  void begin(const Fault& fault) { slot(fault.kind) = fault; }
  void end(Fault::Kind kind) { slot(kind).reset(); }
  /// Whether no other fault is at work.
  [[nodiscard]] bool none_but(Fault::Kind kind) const {
    return std::all_of(faults_.begin(), faults_.end(), [&](const std::optional<Fault>& fault) {
      return !fault || fault->kind == kind;
    });
  }
  [[nodiscard]] bool has(Fault::Kind kind) const { return find(kind).has_value(); }
  /// Whether what is sent to pump and stirrer is neither carried out nor answered.
  [[nodiscard]] bool outlets_silent() const {
    return has(Fault::Kind::bus_silent) || has(Fault::Kind::outlets_silent);
  }
  [[nodiscard]] const std::optional<Fault>& find(Fault::Kind kind) const {
    return faults_[static_cast<std::size_t>(kind)];
  }

 private:
  std::optional<Fault>& slot(Fault::Kind kind) { return faults_[static_cast<std::size_t>(kind)]; }
  std::array<std::optional<Fault>, static_cast<std::size_t>(Fault::Kind::count)> faults_;
};

}  // namespace limegate::rehearsal
