// What a station shows of itself.

#include <algorithm>

#include "station/station.h"

namespace limegate::station {
namespace {

/// What the keeper asked for beside the day's volume.
void show(const Wishes& wishes, Moment now, Status& status) {
  if (const auto until = wishes.paused_until(); until && *until > now.mono) {
    status.pause_remaining = *until - now.mono;
  }
  for (const Origin by : {Origin::station, Origin::afar}) {
    if (const auto until = wishes.paused_until(by); until && *until > now.mono) {
      status.pauses.push_back({by, now.wall + (*until - now.mono)});
    }
  }
  status.in_service = wishes.service_until().has_value();
  if (const auto& away = wishes.away()) {
    status.away = {now.wall + (away->until - now.mono), away->volume};
  }
}

}  // namespace

std::optional<Instant> Station::off_due_since() const {
  const auto pump = doser_.pump().watch().off_due_since();
  const auto stirrer = stirrer_.watch().off_due_since();
  return pump && stirrer ? std::min(*pump, *stirrer) : pump ? pump : stirrer;
}

Status Station::status(Moment now) const {
  Status status;
  status.station = settings_.name;
  status.at = now;
  rules::Snapshot probed;
  probes_.know(now.mono, probed);
  status.ph = probed.ph;
  status.second_ph = probed.second_ph;
  status.temperature = probed.temperature;
  status.inputs = gate_.inputs(now.mono);
  water_.show(now, rules::counting_ph(probed), status);
  if (const auto newest = book_.newest_alkalinity()) {
    const auto known = tested(now);
    status.alkalinity = {newest->level, newest->at,
                         known && known->counts == WaterResponse::Tested::Counts::yes
                             ? Status::Tested::Counts::yes
                             : Status::Tested::Counts::no};
  }
  status.upkeep = upkeep_.items();
  status.powder = upkeep_.powder();
  status.gate_open = gate_open();
  for (std::size_t i = 0; i < holds().size(); ++i) {
    const Standing& standing = gate_.standing()[i];
    status.holds.push_back({standing.code, rules::sentence_of(holds()[i]),
                            rules::clears(holds()[i]), standing.since.wall});
  }
  doser_.show(now, status);
  status.stirrer = stirrer_.known(now.mono).state;
  status.stirrer_confirmed_off =
      stirrer_.confirmed_off() && stirrer_.outlet(now.mono) == rules::OutletKnown::as_commanded;
  const Schedule::Present present = this->present();
  const dosing::PlanShape& shape = schedule_.shape();
  status.pulse_volume = shape.pulse_volume;
  status.hour_limit = schedule_.hour_limit(present.rise_per_ml);
  status.day_limit = settings_.limits.day;
  status.ph_ceiling = settings_.limits.ceiling;
  status.day_volume = present.asked.now;
  status.day_volume_at_station = present.asked.at_station;
  status.day_volume_in_force = schedule_.in_force(present.asked.now, present);
  show(wishes_, now, status);
  status.missing =
      missing_after(vigil_.silent(now.mono), schedule_.in_force(wishes_.wished(), present),
                    settings_.water.volume);
  // Overdue where it must rest.
  status.next_stir_in = std::max(stirrer_.next_start() - now.mono, Duration::zero());
  // What only a person clears has no end that anybody knows; a pause has one.
  const bool endless = !latches().empty();
  const Instant from = now.mono + status.pause_remaining;
  if (const auto window = clear_window(now.mono); window && !endless) {
    if (const auto due = dosing::next_due(shape, window->open, window->close, from)) {
      status.next_pulse_in = *due - now.mono;
    }
  }
  if (settings_.stirrer != StirrerKind::observed && !endless) {
    status.next_window_in = status.next_stir_in + settings_.plan.stir.run + settings_.limits.settle;
  }
  return status;
}

}  // namespace limegate::station
