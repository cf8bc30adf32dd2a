// The calls of Slave that look at or change its devices: each is the model's, under the lock.
#include <utility>

#include "support/slave.h"

namespace limegate::test {

void Slave::set_holding(int unit, std::uint16_t address, std::uint16_t value) {
  const std::lock_guard lock{mutex_};
  model_.unit(unit).holding[address] = value;
}

void Slave::set_input_register(int unit, std::uint16_t address, std::uint16_t value) {
  const std::lock_guard lock{mutex_};
  model_.unit(unit).input_registers[address] = value;
}

void Slave::set_coil(int unit, std::uint16_t address, bool on) {
  const std::lock_guard lock{mutex_};
  model_.unit(unit).coils[address] = on;
}

void Slave::switch_from_elsewhere(int unit, std::uint16_t address, bool on) {
  const std::lock_guard lock{mutex_};
  (void)model_.set_coil(unit, address, on);
}

void Slave::set_input(int unit, std::uint16_t address, bool on) {
  const std::lock_guard lock{mutex_};
  model_.unit(unit).inputs[address] = on;
}

std::uint16_t Slave::holding(int unit, std::uint16_t address) {
  const std::lock_guard lock{mutex_};
  return model_.unit(unit).holding[address];
}

void Slave::add_outlet(const RelayOutlet& outlet) {
  const std::lock_guard lock{mutex_};
  model_.add_outlet(outlet);
}

void Slave::add_communication_loss(int unit, std::uint16_t address, Duration step) {
  const std::lock_guard lock{mutex_};
  model_.add_communication_loss(unit, address, step);
}

void Slave::set_defect(int unit, std::uint16_t address, Defect defect) {
  const std::lock_guard lock{mutex_};
  model_.outlet(unit, address).set_defect(defect);
}

void Slave::reset_unit(int unit) {
  const std::lock_guard lock{mutex_};
  model_.reset(unit);
}

void Slave::advance() {
  const std::lock_guard lock{mutex_};
  model_.advance();
}

bool Slave::is_on(int unit, std::uint16_t address) {
  const std::lock_guard lock{mutex_};
  model_.advance();
  return model_.outlet(unit, address).contact();
}

Duration Slave::on_time(int unit, std::uint16_t address) {
  const std::lock_guard lock{mutex_};
  model_.advance();
  return model_.outlet(unit, address).on_time(clock_.now().mono);
}

std::vector<OutletChange> Slave::log() {
  const std::lock_guard lock{mutex_};
  model_.advance();
  return model_.log();
}

void Slave::script(const SlaveFault& fault) {
  const std::lock_guard lock{mutex_};
  faults_.push_back(fault);
}

void Slave::clear_faults() {
  const std::lock_guard lock{mutex_};
  faults_.clear();
}

int Slave::requests(std::optional<int> unit) {
  const std::lock_guard lock{mutex_};
  int count = 0;
  for (const int asked : units_asked_) {
    count += !unit || *unit == asked ? 1 : 0;
  }
  return count;
}

void Slave::on_request(std::function<void(const Event&)> callback) {
  const std::lock_guard lock{mutex_};
  callback_ = std::move(callback);
}

}  // namespace limegate::test
