#pragma once

#include <cstddef>
#include <functional>
#include <vector>

#include "modbus/devices.h"
#include "modbus/read_plan.h"
#include "ports/bus.h"
#include "ports/clock.h"

namespace limegate::modbus {

/// Reads probes in as few round trips as their addresses allow, failing units last.
/// Threads: used by the bus thread only; blocks.
class ProbeReader {
 public:
  ProbeReader(std::vector<ProbeSettings> probes, Devices& devices, const ports::Clock& clock);

  /// Gives one sample for each wanted probe, in the order wanted. `go_on` is asked before
  /// each round trip but the first; after false the rest is left unread, as timed_out. An index
  /// that names no probe gives refused_by_device.
  [[nodiscard]] std::vector<ports::Sample> read(const std::vector<std::size_t>& wanted,
                                                const std::function<bool()>& go_on);

 private:
  using Samples = std::vector<ports::Sample>;  // by probe index
  void perform(const PlannedRead& read, Samples& samples);

  std::vector<ProbeSettings> probes_;
  std::vector<bool> alone_;  ///< a joined read of this probe was refused once
  Devices& devices_;
  const ports::Clock& clock_;
};

}  // namespace limegate::modbus
