// What of the daemon is shown, and when.
#include <algorithm>
#include <chrono>
#include <utility>

#include "mqtt/discovery.h"
#include "mqtt/image.h"
#include "mqtt/surface.h"

namespace limegate::mqtt {
namespace {

constexpr Duration kFirmEvery = std::chrono::minutes{5};
/// A timer that is a little early must not cost a whole round: half of the daemon's tick.
constexpr Duration kSlackMax = std::chrono::milliseconds{500};

}  // namespace

void Surface::update(const station::Overview& overview) {
  const bool all = now().mono >= next_full_;
  if (all) {
    next_full_ = now().mono + settings_.publish_every -
                 std::min<Duration>(kSlackMax, settings_.publish_every / 2);
  }
  const auto due = [&](Station& known, std::string urgent) {
    const bool changed = urgent != known.urgent;
    known.urgent = std::move(urgent);
    return all || changed || std::exchange(known.answer_due, false);
  };
  for (std::size_t i = 0; i < stations_.size(); ++i) {
    const station::Status& status = overview.stations[i];
    Station& known = stations_[i];
    if (due(known, urgent_part(status))) {
      show_station(i, status);
    }
  }
  begun_ = begun_ || std::all_of(overview.stations.begin(), overview.stations.end(), has_begun);
  if (due(root_, urgent_part(overview.alerts) + urgent_part(overview.refused))) {
    mirror_.show(stations_.size(), root_values(overview), shown(overview.alerts));
  }
  // A message too large for us reaches others: whether dosing goes on is said again whatever we
  // hear.
  if (phase_ == Phase::ready && now().mono >= next_firm_) {
    next_firm_ = now().mono + kFirmEvery;
    for (std::size_t i = 0; i < stations_.size(); ++i) {
      mirror_.repeat(i, "gate", "open");
    }
  }
  for (const Repeat& repeat : std::exchange(repeats_, {})) {
    mirror_.repeat(repeat.device, repeat.topic.node, repeat.topic.property);
  }
}

void Surface::show_station(std::size_t device, const station::Status& status) {
  Station& known = stations_[device];
  std::vector<Value> values = station_values(status);
  const bool other = presences_[device].take(
      values,
      phase_ == Phase::ready ? Presence::Description::at_rest : Presence::Description::may_change,
      now().mono);
  // A person at the station sets that volume, and its value must keep to its format at once.
  if (other || known.day_volume_max != status.day_volume_at_station) {
    known.day_volume_max = status.day_volume_at_station;
    const Paths& without = presences_[device].without();
    mirror_.describe(device, station_description(settings_.device, status, without));
    if (announcer_) {
      announcer_->show(device, station_documents(settings_, status, without));
    }
  }
  mirror_.show(device, values, shown(status.alerts));
}

/// Whether the tree may be called ready: at a start probes and inputs have a moment to speak, so
/// that what they say is described from the beginning.
bool Surface::begun() const { return begun_ || now().mono >= begun_by_; }

}  // namespace limegate::mqtt
