#pragma once

#include "alerts/destination.h"

namespace limegate::delivery {

enum class Ways { all, network, programs };

/// The destinations of this kind. The heartbeat and the nightly line go with the network.
[[nodiscard]] alerts::Delivery only(Ways ways, alerts::Delivery delivery);
/// Whether there is anything to do: a destination, or a heartbeat alone.
[[nodiscard]] bool has_work(const alerts::Delivery& delivery);

}  // namespace limegate::delivery
