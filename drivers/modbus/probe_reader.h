#pragma once

#include <cstddef>
#include <functional>
#include <vector>

#include "modbus/devices.h"
#include "modbus/read_plan.h"
#include "ports/bus.h"
#include "ports/clock.h"

namespace limegate::modbus {

/// Reads probes in as few round trips as their addresses allow. Units that were silent lately come
/// last, and only one of them is tried in a read: however many are dead, the others wait for one
/// timeout until they are read again.
/// Threads: used by the bus thread only; blocks.
class ProbeReader {
 public:
  ProbeReader(std::vector<ProbeSettings> probes, Devices& devices, const ports::Clock& clock);

  using Samples = std::vector<ports::Sample>;
  struct During {
    std::function<bool()> go_on;            ///< asked before each round trip but the first
    std::function<void(Samples)> answered;  ///< after each round trip
  };
  /// Gives one sample for each wanted probe: of those that were asked through `answered`, the rest
  /// at the end. The rest are units that were left alone (backing_off), what came after `go_on`
  /// said no (timed_out), and an index that names no probe (refused_by_device).
  [[nodiscard]] Samples read(const std::vector<std::size_t>& wanted, const During& during);

 private:
  [[nodiscard]] std::vector<PlannedRead> plan(const std::vector<std::size_t>& known) const;
  [[nodiscard]] Samples perform(const PlannedRead& read);
  [[nodiscard]] Samples unread(const std::vector<std::size_t>& probes, ports::BusFault why) const;

  std::vector<ProbeSettings> probes_;
  std::vector<bool> alone_;  ///< a joined read of this probe was refused once
  Devices& devices_;
  const ports::Clock& clock_;
};

}  // namespace limegate::modbus
