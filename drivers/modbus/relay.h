#pragma once

#include <functional>
#include <optional>

#include "modbus/devices.h"
#include "modbus/settings.h"
#include "ports/clock.h"
#include "ports/outlet.h"

namespace limegate::modbus {

using Switched = ports::OutletAnswer;

/// One outlet of a relay board as the bus thread works it. Each call is one attempt and blocks.
///
/// Off writes the control point and nothing else: on a board with its own timer that must end a
/// timed run (its proof test shows it). Zero is never written to the timer's register, because
/// boards differ in what it means. On is written once and never again, whatever the answer.
/// Threads: used by the bus thread only.
class Relay {
 public:
  Relay(const OutletSettings& settings, Devices& devices, const ports::Clock& clock);

  /// What the bus does for a run while it waits.
  struct Run {
    Duration duration{};
    Instant send_before;
    std::function<bool()> withdrawn;      ///< an off was asked for since
    std::function<void()> between;        ///< called between two round trips
    std::function<void(Duration)> pause;  ///< waits, or until something urgent is asked
    std::function<void()> armed;          ///< called when `deadline()` has been set
  };
  /// See ports::Outlet::run_for. Refused as {no, refused_by_device}: a duration that does not fit
  /// the board's timer (below one step, above 65535 steps), or above an hour without one, or not
  /// positive; a board whose communication-loss register does not hold what was written. {no,
  /// timed_out}: `send_before` passed, or the run was withdrawn, before the first byte.
  [[nodiscard]] Switched run_for(const Run& run);

  /// One attempt to write off and read back. Never waits for a backing-off device.
  [[nodiscard]] Switched off();

  [[nodiscard]] Switched read_back(Insistence insistence);

  /// Writes and verifies the board's communication-loss register if this contact has not seen it.
  [[nodiscard]] tl::expected<void, ports::OutletFault> ensure_loss_timer(
      const std::function<void()>& between);

  /// When the driver itself must switch off; absent for a board with its own timer, and once off
  /// is confirmed.
  [[nodiscard]] std::optional<Instant> deadline() const { return deadline_; }
  void postpone(Instant next_try) { deadline_ = next_try; }
  /// Whether its unit left the last try unanswered, and nothing was heard of it since.
  [[nodiscard]] bool is_silent() const { return devices_.is_failing(settings_.unit); }
  /// What its unit was heard to say so far (see Devices).
  [[nodiscard]] Devices::Contact contact() const { return devices_.contact(settings_.unit); }

 private:
  [[nodiscard]] std::optional<Request> on_request(Duration duration) const;
  [[nodiscard]] Request control_request(ports::OutletState state) const;
  [[nodiscard]] Switched read_settled(ports::OutletState wanted, Insistence insistence,
                                      const std::function<void(Duration)>& pause);

  OutletSettings settings_;
  Devices& devices_;
  const ports::Clock& clock_;
  std::optional<Instant> deadline_;
  std::optional<Instant> off_since_;  ///< by the clock; of a board without a timer
  std::optional<Devices::Contact> loss_timer_seen_;
};

}  // namespace limegate::modbus
