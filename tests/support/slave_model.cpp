#include "support/slave_model.h"

#include <cstddef>
#include <stdexcept>

namespace limegate::test {
namespace {

constexpr std::uint8_t kIllegalFunction = 1;
constexpr std::uint8_t kIllegalAddress = 2;
constexpr std::uint8_t kIllegalValue = 3;

std::uint16_t word_at(std::span<const std::uint8_t> bytes, std::size_t at) {
  return static_cast<std::uint16_t>(bytes[at] << 8 | bytes[at + 1]);
}

void append(SlaveBytes& bytes, std::uint16_t word) {
  bytes.push_back(static_cast<std::uint8_t>(word >> 8));
  bytes.push_back(static_cast<std::uint8_t>(word & 0xFF));
}

SlaveBytes exception(std::uint8_t function, std::uint8_t code) {
  return {static_cast<std::uint8_t>(function | 0x80), code};
}

SlaveBytes echo(std::span<const std::uint8_t> pdu) { return {pdu.begin(), pdu.begin() + 5}; }

}  // namespace

void SlaveModel::add_outlet(const RelayOutlet& outlet) {
  outlets_.emplace_back(outlet);
  units_.try_emplace(outlet.unit);
}

BoardOutlet& SlaveModel::outlet(int unit, std::uint16_t address) {
  for (BoardOutlet& outlet : outlets_) {
    if (outlet.settings().unit == unit && outlet.settings().address == address) {
      return outlet;
    }
  }
  throw std::logic_error("the slave has no such outlet");
}

void SlaveModel::add_communication_loss(int unit, std::uint16_t address, Duration step) {
  loss_timers_[unit] = {address, step, clock_.now().mono};
  units_[unit].holding[address] = 0;
}

void SlaveModel::reset(int unit) {
  advance();
  for (BoardOutlet& outlet : outlets_) {
    if (outlet.settings().unit == unit) {
      outlet.switch_off(clock_.now(), ChangeCause::communication_loss, log_);
    }
  }
  if (const auto timer = loss_timers_.find(unit); timer != loss_timers_.end()) {
    units_[unit].holding[timer->second.address] = 0;
  }
}

void SlaveModel::advance() {
  const Moment now = clock_.now();
  for (const auto& [unit, timer] : loss_timers_) {
    expire_loss_timer(unit, now);
  }
  for (BoardOutlet& outlet : outlets_) {
    outlet.advance(now, log_);
  }
}

void SlaveModel::expire_loss_timer(int unit, Moment now) {
  const LossTimer& timer = loss_timers_[unit];
  const std::uint16_t value = units_[unit].holding[timer.address];
  const Instant due = timer.heard + value * timer.step;
  if (value == 0 || due > now.mono) {
    return;
  }
  const Moment due_moment{due, now.wall - (now.mono - due)};
  for (BoardOutlet& outlet : outlets_) {
    if (outlet.settings().unit != unit) {
      continue;
    }
    outlet.advance(due_moment, log_);  // a run that its own timer ended before is not this one's
    outlet.switch_off(due_moment, ChangeCause::communication_loss, log_);
  }
}

SlaveBytes SlaveModel::execute(int unit, std::span<const std::uint8_t> pdu) {
  advance();
  if (const auto timer = loss_timers_.find(unit); timer != loss_timers_.end()) {
    timer->second.heard = clock_.now().mono;
  }
  switch (pdu[0]) {
    case 1:
    case 2:
      return read_bits(unit, pdu);
    case 3:
    case 4:
      return read_registers(unit, pdu);
    case 5:
    case 6:
      return write_one(unit, pdu);
    case 15:
    case 16:
      return write_many(unit, pdu);
    default:
      return exception(pdu[0], kIllegalFunction);
  }
}

SlaveBytes SlaveModel::read_bits(int unit, std::span<const std::uint8_t> pdu) {
  const std::uint16_t first = word_at(pdu, 1);
  const std::uint16_t count = word_at(pdu, 3);
  if (count == 0 || count > 2000) {
    return exception(pdu[0], kIllegalValue);
  }
  const auto size = static_cast<std::uint8_t>((count + 7) / 8);
  SlaveBytes reply{pdu[0], size};
  reply.resize(2U + size, 0);
  for (std::uint16_t i = 0; i < count; ++i) {
    const auto bit = value_at(unit, pdu[0], static_cast<std::uint16_t>(first + i));
    if (!bit) {
      return exception(pdu[0], kIllegalAddress);
    }
    reply[2U + i / 8U] = static_cast<std::uint8_t>(reply[2U + i / 8U] | (*bit << (i % 8)));
  }
  return reply;
}

SlaveBytes SlaveModel::read_registers(int unit, std::span<const std::uint8_t> pdu) {
  const std::uint16_t first = word_at(pdu, 1);
  const std::uint16_t count = word_at(pdu, 3);
  if (count == 0 || count > 125) {
    return exception(pdu[0], kIllegalValue);
  }
  SlaveBytes reply{pdu[0], static_cast<std::uint8_t>(count * 2)};
  for (std::uint16_t i = 0; i < count; ++i) {
    const auto value = value_at(unit, pdu[0], static_cast<std::uint16_t>(first + i));
    if (!value) {
      return exception(pdu[0], kIllegalAddress);
    }
    append(reply, *value);
  }
  return reply;
}

SlaveBytes SlaveModel::write_one(int unit, std::span<const std::uint8_t> pdu) {
  const std::uint16_t address = word_at(pdu, 1);
  const std::uint16_t value = word_at(pdu, 3);
  if (pdu[0] == 5 && value != 0xFF00 && value != 0) {
    return exception(pdu[0], kIllegalValue);
  }
  const bool done =
      pdu[0] == 5 ? set_coil(unit, address, value != 0) : set_holding(unit, address, value);
  return done ? echo(pdu) : exception(pdu[0], kIllegalAddress);
}

SlaveBytes SlaveModel::write_many(int unit, std::span<const std::uint8_t> pdu) {
  const std::uint16_t first = word_at(pdu, 1);
  const std::uint16_t count = word_at(pdu, 3);
  const bool bits = pdu[0] == 15;
  const std::size_t size = bits ? (count + 7U) / 8U : count * 2U;
  if (count == 0 || pdu[5] != size || pdu.size() != 6 + size) {
    return exception(pdu[0], kIllegalValue);
  }
  for (std::uint16_t i = 0; i < count; ++i) {
    const auto address = static_cast<std::uint16_t>(first + i);
    const bool done = bits ? set_coil(unit, address, ((pdu[6U + i / 8U] >> (i % 8)) & 1) != 0)
                           : set_holding(unit, address, word_at(pdu, 6U + i * 2U));
    if (!done) {
      return exception(pdu[0], kIllegalAddress);
    }
  }
  return echo(pdu);
}

std::optional<std::uint16_t> SlaveModel::value_at(int unit, std::uint8_t function,
                                                  std::uint16_t address) {
  for (const BoardOutlet& outlet : outlets_) {
    const RelayOutlet& s = outlet.settings();
    if (s.unit != unit) {
      continue;
    }
    const std::uint8_t control = s.kind == SwitchKind::coil ? 1 : 3;
    if (function == control && address == s.address) {
      return outlet.control_value();
    }
    if (function == 2 && s.feedback_input == address) {
      return outlet.contact() ? 1 : 0;
    }
    if (function == 3 && s.timed_register == address) {
      return outlet.timer_value();
    }
  }
  const Tables& tables = units_[unit];
  const auto find = [address](const auto& table) -> std::optional<std::uint16_t> {
    const auto found = table.find(address);
    if (found == table.end()) {
      return std::nullopt;
    }
    return found->second;
  };
  switch (function) {
    case 1:
      return find(tables.coils);
    case 2:
      return find(tables.inputs);
    case 3:
      return find(tables.holding);
    default:
      return find(tables.input_registers);
  }
}

bool SlaveModel::set_coil(int unit, std::uint16_t address, bool on) {
  if (BoardOutlet* outlet = find(unit, SwitchKind::coil, address)) {
    outlet->write_control(on ? 1 : 0, clock_.now(), log_);
    return true;
  }
  auto& coils = units_[unit].coils;
  if (coils.count(address) == 0) {
    return false;
  }
  coils[address] = on;
  return true;
}

bool SlaveModel::set_holding(int unit, std::uint16_t address, std::uint16_t value) {
  if (BoardOutlet* outlet = find(unit, SwitchKind::holding_register, address)) {
    outlet->write_control(value, clock_.now(), log_);
    return true;
  }
  for (BoardOutlet& outlet : outlets_) {
    if (outlet.settings().unit == unit && outlet.settings().timed_register == address) {
      outlet.write_timer(value, clock_.now(), log_);
      return true;
    }
  }
  auto& holding = units_[unit].holding;
  if (holding.count(address) == 0) {
    return false;
  }
  holding[address] = value;
  return true;
}

BoardOutlet* SlaveModel::find(int unit, SwitchKind kind, std::uint16_t address) {
  for (BoardOutlet& outlet : outlets_) {
    const RelayOutlet& s = outlet.settings();
    if (s.unit == unit && s.kind == kind && s.address == address) {
      return &outlet;
    }
  }
  return nullptr;
}

}  // namespace limegate::test
