#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "units/time.h"

namespace limegate::test {

enum class SwitchKind { coil, holding_register };

/// One output of an emulated relay board.
struct RelayOutlet {
  int unit = 1;
  std::uint16_t address = 0;  ///< of its control point
  SwitchKind kind = SwitchKind::coil;
  std::uint16_t on_value = 1;  ///< 0 with off_value 1: an active-low board
  std::uint16_t off_value = 0;
  std::optional<std::uint16_t> timed_register{};   ///< holding register: n switches on for n steps
  Duration step = std::chrono::milliseconds{100};  ///< of the timed register
  std::optional<std::uint16_t> feedback_input{};   ///< discrete input that follows the contact
};

enum class ChangeCause { command, timer, communication_loss };

/// The contact of an outlet moved.
struct OutletChange {
  Moment at;
  int unit = 1;
  std::uint16_t address = 0;
  bool on = false;
  ChangeCause cause = ChangeCause::command;
};

/// What is wrong with an outlet's hardware.
enum class Defect {
  none,
  ignores_writes,  ///< confirms each write and does nothing
  welded,          ///< the control point obeys, the contact stays on once it is on
  ignores_timer,   ///< a timed run never ends by itself
};

/// An emulated output: control point, contact, own timer. A pure state; the caller brings the time
/// and calls `advance` before anything else at each new time.
class BoardOutlet {
 public:
  explicit BoardOutlet(const RelayOutlet& outlet) : outlet_(outlet) {}

  [[nodiscard]] const RelayOutlet& settings() const { return outlet_; }
  [[nodiscard]] std::uint16_t control_value() const;
  [[nodiscard]] std::uint16_t timer_value() const { return timer_value_; }
  [[nodiscard]] bool contact() const { return contact_; }
  [[nodiscard]] Duration on_time(Instant now) const;
  [[nodiscard]] std::optional<Instant> timer_end() const { return timer_end_; }

  void set_defect(Defect defect) { defect_ = defect; }
  void write_control(std::uint16_t value, Moment now, std::vector<OutletChange>& log);
  void write_timer(std::uint16_t steps, Moment now, std::vector<OutletChange>& log);
  void advance(Moment now, std::vector<OutletChange>& log);
  void switch_off(Moment at, ChangeCause cause, std::vector<OutletChange>& log);

 private:
  void command(bool on, Moment at, ChangeCause cause, std::vector<OutletChange>& log);

  RelayOutlet outlet_;
  Defect defect_ = Defect::none;
  bool commanded_ = false;
  bool contact_ = false;
  std::uint16_t timer_value_ = 0;
  std::optional<Instant> timer_end_;
  Instant on_since_;
  Duration on_time_{};
};

}  // namespace limegate::test
