// What a world says of itself.

#include <algorithm>
#include <chrono>

#include "app/world.h"

namespace limegate::app {
namespace {

/// A healthy bus confirms an off within this.
constexpr Duration kOffWithin = std::chrono::seconds{5};

}  // namespace

bool World::wants_quick_polls() const {
  return std::any_of(shells_.begin(), shells_.end(),
                     [](const auto& shell) { return shell->core().wants_quick_readings(); });
}

bool World::outlets_idle() const {
  return std::all_of(shells_.begin(), shells_.end(),
                     [](const auto& shell) { return shell->outstanding() == 0; });
}

bool World::any_bus_hangs() const {
  return std::any_of(lines_.begin(), lines_.end(),
                     [](const Line& line) { return line.bus->hangs(); });
}

bool World::end_overdue() const {
  const Instant now = pace_.clock().now().mono;
  for (std::size_t i = 0; i < shells_.size(); ++i) {
    const auto due = shells_[i]->core().off_due_since();
    if (due && now - *due >= kOffWithin &&
        std::any_of(outlet_buses_[i].begin(), outlet_buses_[i].end(),
                    [](const ports::Bus* bus) { return bus->hangs(); })) {
      return true;
    }
  }
  return false;
}

bool World::idle() const {
  return journal_.outstanding() == 0 && outlets_idle() &&
         std::none_of(lines_.begin(), lines_.end(),
                      [](const Line& line) { return line.outstanding; });
}

station::Overview World::overview() const {
  const Moment now = pace_.clock().now();
  station::Overview overview{now, started_, events_.alerts().standing(), {}};
  for (const auto& shell : shells_) {
    overview.stations.push_back(shell->core().status(now));
  }
  return overview;
}

}  // namespace limegate::app
