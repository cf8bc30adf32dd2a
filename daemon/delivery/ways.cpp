#include "delivery/ways.h"

#include <algorithm>
#include <variant>

namespace limegate::delivery {

alerts::Delivery only(Ways ways, alerts::Delivery delivery) {
  auto& all = delivery.destinations;
  all.erase(std::remove_if(all.begin(), all.end(),
                           [&](const alerts::Destination& one) {
                             const bool program = std::holds_alternative<alerts::Program>(one.way);
                             return ways != Ways::all && program != (ways == Ways::programs);
                           }),
            all.end());
  if (ways == Ways::programs) {
    delivery.heartbeat_url.clear();
    delivery.all_is_well_at.reset();
  }
  return delivery;
}

bool has_work(const alerts::Delivery& delivery) {
  return !delivery.destinations.empty() || !delivery.heartbeat_url.empty();
}

}  // namespace limegate::delivery
