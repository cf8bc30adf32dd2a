#pragma once

#include <cstddef>
#include <vector>

#include "modbus/frame.h"
#include "modbus/settings.h"

namespace limegate::modbus {

/// One request that answers several probes.
struct PlannedRead {
  Request request;
  std::vector<std::size_t> probes;  ///< indices into the list of probes
};

/// Joins probes of one unit and table whose places touch or overlap into one request, because a
/// round trip costs far more than a register. Gaps are never read: a device may refuse them.
/// Shape:  reads in the order of the first probe each one serves.
/// Valid:  `wanted` holds indices into `probes`; `alone[i]` keeps probe i out of every join.
[[nodiscard]] std::vector<PlannedRead> plan_reads(const std::vector<ProbeSettings>& probes,
                                                  const std::vector<std::size_t>& wanted,
                                                  const std::vector<bool>& alone);

}  // namespace limegate::modbus
