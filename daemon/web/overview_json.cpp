#include "web/overview_json.h"

#include <cmath>

#include <nlohmann/json.hpp>

#include "alerts/cloud_event.h"
#include "units/iso8601.h"

namespace limegate::web {
namespace {

using nlohmann::json;

json value_of(const signal::Reading& reading) {
  const bool known = reading.reason != signal::Reason::missing && std::isfinite(reading.value);
  return known ? json(reading.value) : json(nullptr);
}

json json_of(const signal::Reading& reading) {
  const bool ever = reading.reason != signal::Reason::missing;
  return {{"value", value_of(reading)},
          {"quality", signal::name_of(reading.quality)},
          {"reason", signal::name_of(reading.reason)},
          {"condition", signal::name_of(signal::status_of(reading))},
          {"time", ever ? json(iso8601(reading.at.wall)) : json(nullptr)}};
}

/// Null where the record is missing: that counts as full, and no volume is known.
json given(Millilitres counted) {
  return counted >= kCountsAsFull ? json(nullptr) : json(counted.count());
}

json json_of(const std::vector<rules::InputShown>& inputs) {
  json list = json::array();
  for (const rules::InputShown& input : inputs) {
    list.push_back({{"name", input.name},
                    {"unit", input.unit},
                    {"value", input.value ? json(*input.value) : json(nullptr)},
                    {"age_s", in_seconds(input.age)}});
  }
  return list;
}

json json_of(const station::Status& status) {
  json holds = json::array();
  for (const station::Status::Held& held : status.holds) {
    holds.push_back({{"code", held.code},
                     {"sentence", held.sentence},
                     {"clears", rules::name_of(held.clears)},
                     {"since", iso8601(held.since)}});
  }
  return {{"station", status.station},
          {"ph", json_of(status.ph)},
          {"second_ph", status.second_ph ? json_of(*status.second_ph) : json(nullptr)},
          {"temperature_c", json_of(status.temperature)},
          {"inputs", json_of(status.inputs)},
          {"usual_ph", status.usual_ph ? json(status.usual_ph->count()) : json(nullptr)},
          {"usual_course_days_to_go", status.usual_course_days_to_go},
          {"usual_effect", status.usual_effect ? json(*status.usual_effect) : json(nullptr)},
          {"usual_effect_days_to_go", status.usual_effect_days_to_go},
          {"effect_today", status.effect_today ? json(status.effect_today->share) : json(nullptr)},
          {"reference_ph", status.reference ? json(status.reference->count()) : json(nullptr)},
          {"above_reference_ph",
           status.above_reference ? json(status.above_reference->count()) : json(nullptr)},
          {"volume_share", status.volume_share},
          {"gate_open", status.gate_open},
          {"holds", std::move(holds)},
          {"pump", station::name_of(status.pump)},
          {"stirrer", rules::name_of(status.stirrer)},
          {"pump_confirmed_off", status.pump_confirmed_off},
          {"stirrer_confirmed_off", status.stirrer_confirmed_off},
          {"given_hour_ml", given(status.given_hour)},
          {"hour_limit_ml", status.hour_limit.count()},
          {"given_day_ml", given(status.given_day)},
          {"day_limit_ml", status.day_limit.count()},
          {"day_volume_ml", status.day_volume.count()},
          {"day_volume_at_station_ml", status.day_volume_at_station.count()},
          {"day_volume_in_force_ml", status.day_volume_in_force.count()},
          {"halved", status.halved},
          {"pulse_ml", status.pulse_volume.count()},
          {"next_pulse_s",
           status.next_pulse_in ? json(in_seconds(*status.next_pulse_in)) : json(nullptr)},
          {"next_stir_s", in_seconds(status.next_stir_in)},
          {"pause_s", in_seconds(status.pause_remaining)},
          {"alerts", json(alerts::list_of(status.alerts))}};
}

}  // namespace

json json_of(const station::Overview& overview) {
  json stations = json::array();
  for (const station::Status& status : overview.stations) {
    stations.push_back(json_of(status));
  }
  return {{"time", iso8601(overview.at.wall)},
          {"started", iso8601(overview.started)},
          {"alerts", json(alerts::list_of(overview.alerts))},
          {"stations", std::move(stations)}};
}

}  // namespace limegate::web
