#include "modbus/devices.h"

#include <chrono>

#include <spdlog/spdlog.h>

#include "modbus/bus_log.h"

namespace limegate::modbus {

using ports::BusFault;
using ports::OutletFault;
using ports::Sent;

Devices::Devices(const BusSettings& settings, Line& line)
    : bus_name_(settings.name), fresh_(settings.retry_first, settings.retry_max), line_(line) {}

Exchange Devices::ask(const Request& request, const Terms& terms) {
  Device& device = devices_.try_emplace(request.unit, Device{fresh_}).first->second;
  if (terms.insistence == Insistence::patient &&
      !device.patience.may_try(std::chrono::steady_clock::now())) {
    return tl::unexpected{OutletFault{Sent::no, BusFault::backing_off}};
  }
  auto outcome = line_.exchange(request, terms);
  note(request, outcome, device);
  return outcome;
}

void Devices::note(const Request& request, const Exchange& outcome, Device& device) {
  Patience& patience = device.patience;
  if (outcome || outcome.error().cause == BusFault::refused_by_device) {
    if (patience.failing()) {
      bus_log()->info("bus={} unit={} answers again after {} failures", bus_name_, request.unit,
                      patience.failures());
    }
    patience.succeeded();
    return;
  }
  // Other faults are the line's, or the answer came garbled: the device may well be alive.
  const bool silent =
      outcome.error().sent == Sent::maybe && outcome.error().cause == BusFault::timed_out;
  if (!silent) {
    return;
  }
  if (!patience.failing()) {
    bus_log()->warn("bus={} unit={} is silent", bus_name_, request.unit);
  }
  patience.failed(std::chrono::steady_clock::now());
  ++device.silences;
}

Devices::Contact Devices::contact(int unit) const {
  const auto found = devices_.find(unit);
  return {line_.openings(), found == devices_.end() ? 0 : found->second.silences};
}

bool Devices::is_failing(int unit) const {
  const auto found = devices_.find(unit);
  return found != devices_.end() && found->second.patience.failing();
}

}  // namespace limegate::modbus
