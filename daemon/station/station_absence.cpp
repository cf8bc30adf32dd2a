// Work at the reactor, and a keeper who is away: how both begin, and how they end.

#include <algorithm>
#include <string>

#include "station/station_obeys.h"

namespace limegate::station {

void Station::end_service(Moment now, Effects& effects) {
  if (!wishes_.service_is_over(now.mono) || served_by_ || recording_.fault()) {
    return;
  }
  served_by_ = stirrer_.disturbed(now.mono, stamp(now), effects);
  if (!served_by_) {
    service_over(now, effects);
  }
}

/// Not before its row is durable: until then a start settles anew by the wish alone.
void Station::service_over(Moment now, Effects& effects) {
  served_by_.reset();
  wishes_.served(effects);
  effects.emplace_back(
      Raise{{now.wall, Severity::info, "service-over",
             "Work at the reactor is over: its limewater counts as stirred until now, and settles "
             "for " +
                 rules::for_people(settings_.limits.settle) + " before any is given."}});
}

void Station::come_back(Moment now, Effects& effects) {
  if (const auto& away = wishes_.away(); away && now.mono >= away->until) {
    const Obeys obeys{*this, now, Origin::station, effects};
    effects.emplace_back(Raise{{now.wall, Severity::info, "away-over", obeys(Back{}).sentence}});
  }
}

Answer Station::Obeys::operator()(const Service& service) const {
  if (const auto cannot = unwritable()) {
    return refused(cannot->sentence +
                   " If you must reach in now: limegate off switches everything off, and it stays "
                   "off until you release it.");
  }
  station.served_by_.reset();  // what ends from now on is this
  station.wishes_.serve({now.mono, station.stamp(now)}, service.lasting, effects);
  station.doser_.stop(now.mono, effects);
  station.stirrer_.switch_off(now.mono, effects);
  return accepted(
      "Paused for " + rules::for_people(*station.wishes_.service_until() - now.mono) +
      " of work at the reactor; limegate resume ends it. The stirrer rests. However it ends, the "
      "limewater then settles for " +
      rules::for_people(station.settings_.limits.settle) +
      " before any is given. Unplug pump and stirrer before you reach in; lime is caustic: gloves "
      "and eye protection.");
}

Answer Station::Obeys::operator()(const Away& away) const {
  if (const auto cannot = unwritable()) {
    return *cannot;
  }
  if (!now.wall_trusted) {
    return refused(
        "Nobody set this machine's clock since it started, so no date means anything here. See to "
        "its time service, or say that it is right: limegate trust-clock. Nothing was changed.");
  }
  if (!(away.lasting > Duration::zero() && away.lasting <= kAwayMax)) {
    return refused("Away is for a time to come, and for 60 days at most.");
  }
  const std::string volume = rules::volume_for_people(away.volume);
  const Millilitres set = station.wishes_.day_volume_at_station();
  if (!(away.volume >= Millilitres{0.0} && away.volume <= set)) {
    return refused("While away no more is given than the day's volume, " +
                   rules::volume_for_people(set) + ": " + volume + " is not within that.");
  }
  if (const std::string objection = station.schedule_.objection(away.volume); !objection.empty()) {
    return refused("The day's volume stays as it is: " + objection + ".");
  }
  station.wishes_.leave({now.mono, station.stamp(now)}, away.lasting, away.volume, effects);
  station.schedule_.change(station.clear_window(now.mono), station.present());
  return accepted(volume + " a day for " + rules::for_people(away.lasting) + ", then " +
                  rules::volume_for_people(set) +
                  " again by itself. The time counts while this machine runs.");
}

Answer Station::Obeys::operator()(const Back& /*back*/) const {
  if (!station.wishes_.away()) {
    return refused("Nobody is away.");
  }
  station.wishes_.come_back(station.stamp(now), effects);
  station.schedule_.change(station.clear_window(now.mono), station.present());
  return accepted("No longer away: the day's volume is " +
                  rules::volume_for_people(station.wishes_.day_volume()) + " again.");
}

}  // namespace limegate::station
