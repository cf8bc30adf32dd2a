#pragma once

#include <map>
#include <string>

#include "config/config.h"
#include "ports/clock.h"
#include "simulator/tank.h"

namespace limegate::app {

/// Tanks of simulated stations, by the station's name, as they are now.
using Tanks = std::map<std::string, simulator::Tank>;

/// Rehearses the last three days of every simulated station that has given nothing yet, into the
/// journal of `config.state_dir` (this program's own, with a prepared ledger), so that there is
/// something to look at. The tanks go on from there.
/// What can't be written is left out: nothing depends on it.
[[nodiscard]] Tanks rehearse_past(const config::Config& config, const ports::Clock& clock);

}  // namespace limegate::app
