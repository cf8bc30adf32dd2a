#pragma once

#include <cstdint>
#include <functional>
#include <map>
#include <optional>
#include <span>
#include <vector>

#include "ports/clock.h"
#include "support/slave_board.h"

namespace limegate::test {

using SlaveBytes = std::vector<std::uint8_t>;

/// The devices behind a scripted slave: four tables a unit, and relay boards on top of them.
/// An address exists once it was set or belongs to an outlet.
/// Threads: none of its own; Slave locks it.
class SlaveModel {
 public:
  explicit SlaveModel(const ports::Clock& clock) : clock_(clock) {}

  struct Tables {
    std::map<std::uint16_t, bool> coils;
    std::map<std::uint16_t, bool> inputs;
    std::map<std::uint16_t, std::uint16_t> holding;
    std::map<std::uint16_t, std::uint16_t> input_registers;
  };
  [[nodiscard]] Tables& unit(int unit) { return units_[unit]; }
  [[nodiscard]] bool has(int unit) const { return units_.count(unit) != 0; }

  void add_outlet(const RelayOutlet& outlet);
  [[nodiscard]] BoardOutlet& outlet(int unit, std::uint16_t address);
  [[nodiscard]] std::vector<BoardOutlet>& outlets() { return outlets_; }

  /// The board switches the unit's outlets off when no request came for register value * step;
  /// 0 in the register: never. The register starts at 0.
  void add_communication_loss(int unit, std::uint16_t address, Duration step);

  /// Loses what the unit was told, as a reset does: outlets off, communication-loss register 0.
  void reset(int unit);

  /// Brings every timer up to the clock.
  void advance();

  /// Executes one request PDU (function and data) for a unit and gives the reply PDU.
  /// Source: Modbus application protocol V1.1b3, sections 6.1 to 6.6, 6.11 and 6.12.
  [[nodiscard]] SlaveBytes execute(int unit, std::span<const std::uint8_t> pdu);

  [[nodiscard]] const std::vector<OutletChange>& log() const { return log_; }

  /// False where there is no such coil.
  [[nodiscard]] bool set_coil(int unit, std::uint16_t address, bool on);

 private:
  struct LossTimer {
    std::uint16_t address = 0;
    Duration step{};
    Instant heard;
  };
  [[nodiscard]] SlaveBytes read_bits(int unit, std::span<const std::uint8_t> pdu);
  [[nodiscard]] SlaveBytes read_registers(int unit, std::span<const std::uint8_t> pdu);
  [[nodiscard]] SlaveBytes write_one(int unit, std::span<const std::uint8_t> pdu);
  [[nodiscard]] SlaveBytes write_many(int unit, std::span<const std::uint8_t> pdu);
  [[nodiscard]] std::optional<std::uint16_t> value_at(int unit, std::uint8_t function,
                                                      std::uint16_t address);
  [[nodiscard]] bool set_holding(int unit, std::uint16_t address, std::uint16_t value);
  void expire_loss_timer(int unit, Moment now);
  BoardOutlet* find(int unit, SwitchKind kind, std::uint16_t address);

  const ports::Clock& clock_;
  std::map<int, Tables> units_;
  std::vector<BoardOutlet> outlets_;
  std::map<int, LossTimer> loss_timers_;
  std::vector<OutletChange> log_;
};

}  // namespace limegate::test
