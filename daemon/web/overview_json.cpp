#include "web/overview_json.h"

#include <chrono>
#include <cmath>

#include <nlohmann/json.hpp>

#include "alerts/cloud_event.h"
#include "alerts/verdict.h"
#include "care/upkeep.h"
#include "units/iso8601.h"

namespace limegate::web {
namespace {

using nlohmann::json;

constexpr int kVersion = 1;  ///< of this document: higher once a key goes or means something else

// As a person reads them.
constexpr int kPhDecimals = 3;
constexpr int kTemperatureDecimals = 2;
constexpr int kVolumeDecimals = 1;
constexpr int kShareDecimals = 3;
constexpr int kDkhDecimals = 2;
constexpr int kInputDecimals = 6;

json rounded(double value, int decimals) {
  const double unit = std::pow(10.0, decimals);
  const double whole = std::round(value * unit);
  return std::isfinite(whole) ? json(whole == 0.0 ? 0.0 : whole / unit) : json(nullptr);
}

json ph(const std::optional<Ph>& value) {
  return value ? rounded(value->count(), kPhDecimals) : json(nullptr);
}
json share(const std::optional<double>& value) {
  return value ? rounded(*value, kShareDecimals) : json(nullptr);
}
json ml(Millilitres volume) { return rounded(volume.count(), kVolumeDecimals); }
json seconds(Duration duration) {
  return std::chrono::round<std::chrono::seconds>(duration).count();
}
json moment(const std::optional<WallTime>& at) { return at ? json(iso8601(*at)) : json(nullptr); }

json json_of(const signal::Reading& reading, int decimals) {
  const bool ever = reading.reason != signal::Reason::missing;
  return {{"value", ever ? rounded(reading.value, decimals) : json(nullptr)},
          {"newest", ever ? rounded(reading.newest, decimals) : json(nullptr)},
          {"quality", signal::name_of(reading.quality)},
          {"reason", signal::name_of(reading.reason)},
          {"condition", signal::name_of(signal::status_of(reading))},
          {"time", ever ? json(iso8601(reading.at.wall)) : json(nullptr)}};
}

bool counts_as_full(Millilitres counted) { return counted >= kCountsAsFull; }

/// Null where the record is missing: that counts as full, and no volume is known.
json given(Millilitres counted) { return counts_as_full(counted) ? json(nullptr) : ml(counted); }

/// What stands for a record that is lost, in words.
json record_of(const station::Status& status) {
  return counts_as_full(status.given_day)
             ? "The record of the last 24 h is missing or damaged: they count as full."
             : "whole";
}

json json_of(const std::vector<rules::InputShown>& inputs) {
  json list = json::array();
  for (const rules::InputShown& input : inputs) {
    list.push_back({{"name", input.name},
                    {"unit", input.unit},
                    {"value", input.value ? rounded(*input.value, kInputDecimals) : json(nullptr)},
                    {"age_s", seconds(input.age)}});
  }
  return list;
}

json json_of(const std::optional<station::History::Given>& pulse) {
  return pulse ? json{{"time", iso8601(pulse->begun)}, {"ml", ml(pulse->volume)}} : json(nullptr);
}

json json_of(const std::optional<station::AttendedRun::Shown>& run) {
  return run ? json{{"under_way", run->under_way},
                    {"ran_s", rounded(in_seconds(run->ran), kVolumeDecimals)}}
             : json(nullptr);
}

json json_of(const std::optional<station::Status::Tested>& test) {
  return test ? json{{"dkh", rounded(test->level.count(), kDkhDecimals)},
                     {"time", iso8601(test->at)},
                     {"counts", test->counts == station::Status::Tested::Counts::yes}}
              : json(nullptr);
}

json json_of(const std::vector<care::UpkeepItem>& items) {
  json list = json::array();
  for (const care::UpkeepItem& item : items) {
    list.push_back({{"chore", care::name_of(item.chore)},
                    {"state", care::name_of(item.state)},
                    {"due_s", item.due_in ? seconds(*item.due_in) : json(nullptr)},
                    {"sentence", item.sentence}});
  }
  return list;
}

json interval(const care::Interval& both, int decimals) {
  return {rounded(both.low, decimals), rounded(both.high, decimals)};
}

json json_of(const std::optional<care::Powder>& powder) {
  return powder ? json{{"left_g", interval(powder->left_g, 0)},
                       {"days", powder->days ? interval(*powder->days, 0) : json(nullptr)},
                       {"refill_g", interval(powder->refill_g, 0)}}
                : json(nullptr);
}

json json_of(const std::optional<station::Status::Away>& away) {
  return away ? json{{"until", iso8601(away->until)}, {"ml", ml(away->volume)}} : json(nullptr);
}

json json_of(const std::vector<station::Status::Paused>& pauses) {
  json list = json::array();
  for (const station::Status::Paused& pause : pauses) {
    list.push_back({{"by", pause.by == station::Origin::station ? "station" : "afar"},
                    {"until", iso8601(pause.until)}});
  }
  return list;
}

json json_of(const std::optional<station::Event>& event) {
  return event ? json{{"time", iso8601(event->at)},
                      {"code", event->code},
                      {"sentence", event->sentence}}
               : json(nullptr);
}

json json_of(const std::optional<station::MqttState>& mqtt) {
  return mqtt ? json{{"broker", mqtt->broker},
                     {"connected", mqtt->connected},
                     {"since", iso8601(mqtt->since)},
                     {"last_fault", mqtt->last_fault_at ? json(mqtt->last_fault) : json(nullptr)},
                     {"last_fault_time", moment(mqtt->last_fault_at)}}
              : json(nullptr);
}

json json_of(const std::optional<station::Refusal>& refused) {
  return refused ? json{{"what", refused->what},
                        {"by", refused->by},
                        {"why", refused->why},
                        {"time", iso8601(refused->at)},
                        {"times", refused->times}}
                 : json(nullptr);
}

json json_of(const alerts::Verdict& verdict) {
  return {{"standing", alerts::name_of(verdict.standing)},
          {"sentence", verdict.sentence},
          {"action", verdict.action}};
}

json json_of(const station::Status& status) {
  json holds = json::array();
  for (const station::Status::Held& held : status.holds) {
    holds.push_back({{"code", held.code},
                     {"sentence", held.sentence},
                     {"clears", rules::name_of(held.clears)},
                     {"since", iso8601(held.since)}});
  }
  return {
      {"station", status.station},
      {"verdict", json_of(alerts::verdict_of(status))},
      {"ph", json_of(status.ph, kPhDecimals)},
      {"second_ph", status.second_ph ? json_of(*status.second_ph, kPhDecimals) : json(nullptr)},
      {"temperature_c", json_of(status.temperature, kTemperatureDecimals)},
      {"inputs", json_of(status.inputs)},
      {"usual_ph", ph(status.usual_ph)},
      {"usual_course_days_to_go", status.usual_course_days_to_go},
      {"usual_effect", share(status.usual_effect)},
      {"usual_effect_days_to_go", status.usual_effect_days_to_go},
      {"effect_today", share(status.effect_today ? std::optional<double>{status.effect_today->share}
                                                 : std::nullopt)},
      {"ph_ceiling", ph(status.ph_ceiling)},
      {"reference_ph", ph(status.reference)},
      {"above_reference_ph", status.above_reference
                                 ? rounded(status.above_reference->count(), kPhDecimals)
                                 : json(nullptr)},
      {"volume_share", share(status.volume_share)},
      {"alkalinity", json_of(status.alkalinity)},
      {"upkeep", json_of(status.upkeep)},
      {"powder", json_of(status.powder)},
      {"gate_open", status.gate_open},
      {"holds", std::move(holds)},
      {"pump", station::name_of(status.pump)},
      {"stirrer", rules::name_of(status.stirrer)},
      {"pump_confirmed_off", status.pump_confirmed_off},
      {"stirrer_confirmed_off", status.stirrer_confirmed_off},
      {"record", record_of(status)},
      {"given_hour_ml", given(status.given_hour)},
      {"hour_limit_ml", ml(status.hour_limit)},
      {"given_day_ml", given(status.given_day)},
      {"day_limit_ml", ml(status.day_limit)},
      {"given_in_all_ml", status.given_in_all ? ml(*status.given_in_all) : json(nullptr)},
      {"last_pulse", json_of(status.last_given)},
      {"attended_run", json_of(status.attended_run)},
      {"day_volume_ml", ml(status.day_volume)},
      {"day_volume_at_station_ml", ml(status.day_volume_at_station)},
      {"day_volume_in_force_ml", ml(status.day_volume_in_force)},
      {"halved", status.halved},
      {"pulse_ml", ml(status.pulse_volume)},
      {"next_pulse_s", status.next_pulse_in ? seconds(*status.next_pulse_in) : json(nullptr)},
      {"next_stir_s", seconds(status.next_stir_in)},
      {"next_window_s", status.next_window_in ? seconds(*status.next_window_in) : json(nullptr)},
      {"pause_s", seconds(status.pause_remaining)},
      {"pauses", json_of(status.pauses)},
      {"in_service", status.in_service},
      {"away", json_of(status.away)},
      {"last_event", json_of(status.last_event)},
      {"refused", json_of(status.refused)},
      {"alerts", json(alerts::list_of(status.alerts))}};
}

}  // namespace

json json_of(const station::Overview& overview) {
  json stations = json::array();
  for (const station::Status& status : overview.stations) {
    stations.push_back(json_of(status));
  }
  return {{"version", kVersion},
          {"time", iso8601(overview.at.wall)},
          {"started", iso8601(overview.started)},
          {"mqtt", json_of(overview.mqtt)},
          {"alerts", json(alerts::list_of(overview.alerts))},
          {"last_event", json_of(overview.last_event)},
          {"refused", json_of(overview.refused)},
          {"stations", std::move(stations)}};
}

}  // namespace limegate::web
