// A station's device: one row a property.

#include <algorithm>
#include <chrono>

#include "mqtt/discovery.h"
#include "mqtt/image.h"
#include "mqtt/input_image.h"
#include "mqtt/payload.h"
#include "mqtt/property.h"
#include "mqtt/station_lists.h"
#include "rules/hold.h"
#include "signal/reading.h"
#include "units/iso8601.h"

namespace limegate::mqtt {
namespace {

using signal::Reading;
using station::Status;
using Row = Property<Status>;
using Access = Row::Access;
using Payload = std::optional<std::string>;

constexpr int kPhDecimals = 3;
constexpr int kTemperatureDecimals = 2;
constexpr int kVolumeDecimals = 1;
constexpr const char* kDayVolume = "day-volume";
/// Limewater may flow until it is known to be off.
constexpr const char* kPumpRuns = "{{ 'true' if value in ['running', 'ending'] else 'false' }}";
constexpr const char* kStirrerRuns =
    "{{ {'running': 'true', 'resting': 'false'}.get(value, 'None') }}";
constexpr const char* kQualities = "good,uncertain,bad";
constexpr const char* kReasons =
    "none,missing,no-communication,stale,not-a-number,implausible,stuck,unsteady";
/// The five signals of NAMUR NE 107 (2017-04-10).
constexpr const char* kConditions =
    "good,maintenance-required,out-of-specification,function-check,failure";

Payload value_of(const Reading& reading, int decimals) {
  if (reading.reason == signal::Reason::missing) {
    return "";  // whatever an earlier run left on the broker is not ours to show
  }
  // A bad reading's last value stays; NaN is no Homie payload.
  return reading.quality == signal::Quality::bad ? Payload{}
                                                 : Payload{number_text(reading.value, decimals)};
}

Payload time_of(const Reading& reading) {
  return reading.reason == signal::Reason::missing ? "" : iso8601(reading.at.wall);
}

Payload volume(Millilitres amount) { return number_text(amount.count(), kVolumeDecimals); }
Payload allowance(Millilitres limit, Millilitres given) {
  return volume(std::max(limit - given, Millilitres{0.0}));
}

/// None where the record is missing: that counts as full, and no volume is known.
Payload given(Millilitres counted) {
  return counted >= kCountsAsFull ? Payload{""} : volume(counted);
}

/// A moment ahead, to the nearest second, so that it stands still while both clocks go on.
Payload time_ahead(const Status& now, Duration wait) {
  return iso8601(std::chrono::round<std::chrono::seconds>(now.at.wall + wait));
}

/// Where none is planned no earlier one than the next clear window's; else what was said last
/// stays.
Payload next_pulse_of(const Status& now) {
  const auto wait = now.next_pulse_in ? now.next_pulse_in : now.next_window_in;
  return wait && now.pulse_volume > Millilitres{0.0} ? time_ahead(now, *wait) : Payload{};
}

Payload sentence_of(const Status& status) {
  std::string text = status.gate_open ? "Dosing is allowed." : "";
  for (const Status::Held& held : status.holds) {
    text += (text.empty() ? "" : " ") + held.sentence;
  }
  return string_payload(std::move(text));
}

constexpr Row kRows[] =
    {
        {"ph", "value", "pH on the probe's own scale", "float", "0:14", "pH", Access::shown,
         probe("pH", "ph", kPhDecimals),
         [](const Status& now) { return value_of(now.ph, kPhDecimals); }},
        {"ph", "quality", "Quality", "enum", kQualities, "", Access::shown,
         sensor("pH quality").diagnostic(),
         [](const Status& now) { return Payload{signal::name_of(now.ph.quality)}; }},
        {"ph", "reason", "Why it is not good", "enum", kReasons, "", Access::shown,
         sensor("pH reason").diagnostic(),
         [](const Status& now) { return Payload{signal::name_of(now.ph.reason)}; }},
        {"ph", "condition", "Condition of the probe (NE 107)", "enum", kConditions, "",
         Access::shown, sensor("pH probe condition").diagnostic(),
         [](const Status& now) { return Payload{signal::name_of(signal::status_of(now.ph))}; }},
        {"ph", "time", "Time of the newest sample (UTC)", "datetime", "", "", Access::shown,
         moment("pH sample time").or_none().diagnostic(),
         [](const Status& now) { return time_of(now.ph); }},
        {"ph", "second", "Second probe. The higher pH counts", "float", "0:14", "pH", Access::shown,
         sensor("Second pH").of("ph").measured(kPhDecimals).unless_bad("second-quality"),
         [](const Status& now) {
           return now.second_ph ? value_of(*now.second_ph, kPhDecimals) : Payload{""};
         }},
        {"ph", "second-quality", "Its quality", "enum", kQualities, "", Access::shown,
         sensor("Second pH quality").diagnostic(),
         [](const Status& now) {
           return now.second_ph ? Payload{signal::name_of(now.second_ph->quality)} : Payload{""};
         }},
        {"ph", "usual", "Usual at this time of day, once it is learned", "float", "0:14", "pH",
         Access::shown, sensor("Usual pH at this hour").of("ph").to(kPhDecimals).or_none(),
         [](const Status& now) {
           return now.usual_ph ? Payload{number_text(now.usual_ph->count(), kPhDecimals)}
                               : Payload{""};
         }},
        {"ph", "usual-days-to-go", "Days until that is learned", "integer", "0:", "d",
         Access::shown, sensor("Days until the usual pH is learned").of("duration").diagnostic(),
         [](const Status& now) { return Payload{std::to_string(now.usual_course_days_to_go)}; }},
        {"ph", "reference", "Mean of undosed days", "float", "0:14", "pH", Access::shown,
         sensor("pH of undosed days").of("ph").to(kPhDecimals).or_none(),
         [](const Status& now) {
           return now.reference ? Payload{number_text(now.reference->count(), kPhDecimals)}
                                : Payload{""};
         }},
        {"ph", "rise", "Above the reference at this hour, once both are known", "float", "", "pH",
         Access::shown, sensor("pH above undosed days").measured(kPhDecimals).or_none(),
         [](const Status& now) {
           // Of a bad probe what it was last stays, as the value itself does.
           const bool known = now.reference && now.usual_ph;
           return now.above_reference
                      ? Payload{number_text(now.above_reference->count(), kPhDecimals)}
                  : known ? Payload{}
                          : Payload{""};
         }},
        {"temperature", "value", "Temperature", "float", "", "°C", Access::shown,
         probe("Temperature", "temperature", kTemperatureDecimals),
         [](const Status& now) { return value_of(now.temperature, kTemperatureDecimals); }},
        {"temperature", "quality", "Quality", "enum", kQualities, "", Access::shown,
         sensor("Temperature quality").diagnostic(),
         [](const Status& now) { return Payload{signal::name_of(now.temperature.quality)}; }},
        {"temperature", "reason", "Why it is not good", "enum", kReasons, "", Access::shown,
         sensor("Temperature reason").diagnostic(),
         [](const Status& now) { return Payload{signal::name_of(now.temperature.reason)}; }},
        {"temperature", "condition", "Condition of the probe (NE 107)", "enum", kConditions, "",
         Access::shown, sensor("Temperature probe condition").diagnostic(),
         [](const Status& now) {
           return Payload{signal::name_of(signal::status_of(now.temperature))};
         }},
        {"temperature", "time", "Time of the newest sample (UTC)", "datetime", "", "",
         Access::shown, moment("Temperature sample time").or_none().diagnostic(),
         [](const Status& now) { return time_of(now.temperature); }},
        {"gate", "open", "Dosing is allowed", "boolean", "", "", Access::shown,
         binary("Dosing allowed").on_show(),
         [](const Status& now) { return Payload{boolean_text(now.gate_open)}; }},
        {"gate", "holds", "Every reason that holds dosing", "json", "", "", Access::shown,
         count("Holds"), [](const Status& now) { return Payload{holds_of(now)}; }},
        {"gate", "sentence", "The same in words", "string", "", "", Access::shown,
         words("Why dosing is held").on_show(), sentence_of},
        {"dosing", "given-hour", "Counted in the last hour", "float", "0:", "mL", Access::shown,
         sensor("Given in the last hour").measured(kVolumeDecimals).or_none(),
         [](const Status& now) { return given(now.given_hour); }},
        {"dosing", "hour-limit", "Limit of a sliding hour", "float", "0:", "mL", Access::shown,
         sensor("Limit of an hour").of("volume").to(kVolumeDecimals),
         [](const Status& now) { return volume(now.hour_limit); }},
        {"dosing", "hour-allowance", "Left of it", "float", "0:", "mL", Access::shown,
         sensor("Left of the hour").measured(kVolumeDecimals),
         [](const Status& now) { return allowance(now.hour_limit, now.given_hour); }},
        {"dosing", "given-day", "Counted in the last 24 h", "float", "0:", "mL", Access::shown,
         sensor("Given in the last 24 h").measured(kVolumeDecimals).or_none().on_show(),
         [](const Status& now) { return given(now.given_day); }},
        {"dosing", "day-limit", "Limit of sliding 24 h", "float", "0:", "mL", Access::shown,
         sensor("Limit of 24 h").of("volume").to(kVolumeDecimals),
         [](const Status& now) { return volume(now.day_limit); }},
        {"dosing", "day-allowance", "Left of it", "float", "0:", "mL", Access::shown,
         sensor("Left of 24 h").measured(kVolumeDecimals),
         [](const Status& now) { return allowance(now.day_limit, now.given_day); }},
        {"dosing", "last-pulse", "Begin of the newest pulse that was given (UTC)", "datetime", "",
         "", Access::shown, moment("Last pulse"),
         [](const Status& now) {
           return now.last_given ? Payload{iso8601(now.last_given->begun)} : Payload{""};
         }},
        {"dosing", "last-pulse-volume", "Volume of it", "float", "0:", "mL", Access::shown,
         sensor("Volume of the last pulse").of("volume").to(kVolumeDecimals),
         [](const Status& now) {
           return now.last_given ? volume(now.last_given->volume) : Payload{""};
         }},
        {"dosing", "total", "Given in all by pulses that are over; it only rises", "float",
         "0:", "mL", Access::shown, sensor("Given in all").of("volume").rising(kVolumeDecimals),
         [](const Status& now) {
           return now.given_in_all ? volume(*now.given_in_all) : Payload{""};
         }},
        {"dosing", "usual-effect",
         "What doses do to the pH, of what chemistry expects, once it is learned", "float",
         "0:", "%", Access::shown, sensor("Usual effect of doses").measured(0).or_none(),
         [](const Status& now) {
           return now.usual_effect ? Payload{number_text(100.0 * *now.usual_effect, 0)}
                                   : Payload{""};
         }},
        {"plan", kDayVolume, "Volume of a day", "float", "0:", "mL", Access::settable,
         number("Volume of a day").of("volume").setting().on_show(),
         [](const Status& now) { return Payload{exact_number_text(now.day_volume.count())}; }},
        {"plan", "day-volume-at-station", "The same as set at the station", "float", "0:", "mL",
         Access::shown, sensor("Volume of a day set at the station").of("volume"),
         [](const Status& now) {
           return Payload{exact_number_text(now.day_volume_at_station.count())};
         }},
        {"plan", "share", "Given of the day's volume; below 100 while the pH rose", "float",
         "0:100", "%", Access::shown, sensor("Share of the volume given").measured(0),
         [](const Status& now) { return Payload{number_text(100.0 * now.volume_share, 0)}; }},
        {"plan", "in-force", "Volume of a day in force, before it is eased", "float", "0:", "mL",
         Access::shown, sensor("Volume of a day in force").of("volume").to(kVolumeDecimals),
         [](const Status& now) { return volume(now.day_volume_in_force); }},
        {"plan", "halved", "Why only half is given, and what to do; empty while it is not",
         "string", "", "", Access::shown, words("Why only half is given"),
         [](const Status& now) { return Payload{string_payload(now.halved)}; }},
        {"plan", "pulse-volume", "Volume of a pulse", "float", "0:", "mL", Access::shown,
         sensor("Volume of a pulse").of("volume").to(kVolumeDecimals),
         [](const Status& now) { return volume(now.pulse_volume); }},
        {"plan", "next-pulse",
         "Next pulse, if nothing holds it, at the earliest (UTC); one that is past: none is "
         "planned",
         "datetime", "", "", Access::shown, moment("Next pulse").on_show(), next_pulse_of},
        {"plan", "next-stir", "Next stir (UTC)", "datetime", "", "", Access::shown,
         moment("Next stir"), [](const Status& now) { return time_ahead(now, now.next_stir_in); }},
        {"outlets", "pump", "Dosing pump", "enum", "off,about-to-run,running,ending",
         "", Access::shown, binary("Dosing pump").of("running").read_by(kPumpRuns).on_show(),
         [](const Status& now) { return Payload{station::name_of(now.pump)}; }},
        {"outlets", "stirrer", "Stirrer", "enum", "resting,running,unknown", "", Access::shown,
         binary("Stirrer").of("running").read_by(kStirrerRuns),
         [](const Status& now) { return Payload{rules::name_of(now.stirrer)}; }},
        {"keeper", "paused", "Paused by the keeper; true pauses for 2 h", "boolean",
         "", "", Access::settable, toggle("Pause for 2 h").on_show(),
         [](const Status& now) { return Payload{boolean_text(now.pause_remaining > Duration{})}; }},
        {"keeper", "pause-minutes", "What remains of the pause; 0 ends it", "integer", "0:1440",
         "min", Access::settable, number("What remains of the pause").of("duration"),
         [](const Status& now) {
           return Payload{std::to_string(
               std::chrono::ceil<std::chrono::minutes>(std::max(now.pause_remaining, Duration{}))
                   .count())};
         }},
        {"keeper", "pauses", "Who paused (station or afar), and until when (UTC)", "json", "", "",
         Access::shown, pauses("Paused until"),
         [](const Status& now) { return Payload{pauses_of(now)}; }},
        {"keeper", "in-service", "Work at the reactor, paused for that", "boolean", "", "",
         Access::shown, binary("Work at the reactor"),
         [](const Status& now) { return Payload{boolean_text(now.in_service)}; }},
        {"keeper", "away-until", "Less is given until then, the keeper being away (UTC)",
         "datetime", "", "", Access::shown, moment("Keeper is away until").or_none(),
         [](const Status& now) {
           return now.away
                      ? Payload{iso8601(std::chrono::round<std::chrono::seconds>(now.away->until))}
                      : Payload{""};
         }},
        {"keeper", "acknowledge", "Acknowledge an alert by its id, or all", "string", "", "",
         Access::command, button("Acknowledge all alerts").on_show(), nullptr},
        {"keeper", "refused", "Last command that was refused: what, by whom, why, when, how often",
         "json", "", "", Access::shown, refusal("Last refusal"),
         [](const Status& now) { return Payload{refusal_object(now.refused)}; }},
        {"upkeep", "due", "Chores that are due", "json", "", "", Access::shown, count("Upkeep due"),
         [](const Status& now) { return Payload{upkeep_of(now)}; }},
        {"upkeep", "powder", "Powder that can still be given, at the least", "float", "0:", "g",
         Access::shown, sensor("Powder left").of("weight").measured(0).or_none(),
         [](const Status& now) {
           return now.powder ? Payload{number_text(now.powder->left_g.low, 0)} : Payload{""};
         }},
        {"upkeep", "powder-days", "Days that it lasts, at the least", "float", "0:", "d",
         Access::shown, sensor("Days that the powder lasts").of("duration").to(0).or_none(),
         [](const Status& now) {
           return now.powder && now.powder->days ? Payload{number_text(now.powder->days->low, 0)}
                                                 : Payload{""};
         }},
        {"events", "last", "Last that happened here", "json", "", "", Access::shown,
         happened("Last event"),
         [](const Status& now) { return Payload{event_object(now.last_event)}; }},
        {"alerts", "list", "Alerts of this station", "json", "", "", Access::shown, count("Alerts"),
         [](const Status& now) { return Payload{alert_list(now.alerts)}; }},
        {"alerts", "unseen", "Alerts that nobody has seen", "integer", "0:", "", Access::shown,
         problem("Unseen alerts").on_show(),
         [](const Status& now) { return Payload{unseen_count(now.alerts)}; }},
};

/// As a row says, but for the day's volume, which goes no higher than was set at the station.
auto formats_of(const Status& status) {
  return [&status](const Row& row) -> std::string {
    return row.id == kDayVolume ? "0:" + exact_number_text(status.day_volume_at_station.count())
                                : row.format;
  };
}

std::string name_of(const Status& status) { return "Limegate " + status.station; }

}  // namespace

std::string station_description(const std::string& root, const Status& status,
                                const Paths& without) {
  nlohmann::ordered_json nodes = nodes_of(kRows, formats_of(status), without);
  describe_inputs(status.inputs, without, nodes);
  return versioned({{"homie", "5.0"},
                    {"name", name_of(status)},
                    {"type", "limewater-station/1"},
                    {"root", root},
                    {"nodes", nodes}});
}

bool has_begun(const Status& status) {
  const auto spoke = [](const Reading& reading) {
    return reading.reason != signal::Reason::missing;
  };
  return spoke(status.ph) && spoke(status.temperature) &&
         (!status.second_ph || spoke(*status.second_ph)) &&
         std::all_of(status.inputs.begin(), status.inputs.end(),
                     [](const rules::InputShown& input) { return input.value.has_value(); });
}

std::vector<Message> station_documents(const Settings& settings, const Status& status,
                                       const Paths& without) {
  const Announced device{settings.device + "-" + status.station, name_of(status),
                         "limewater station"};
  std::vector<Message> documents =
      documents_of(kRows, settings, device, formats_of(status), without);
  for (Message& document : input_documents(status.inputs, settings, device, without)) {
    documents.push_back(std::move(document));
  }
  return documents;
}

std::vector<Value> station_values(const Status& status) {
  std::vector<Value> values = values_of(kRows, status);
  for (Value& value : input_values(status.inputs)) {
    values.push_back(std::move(value));
  }
  return values;
}

std::string urgent_part(const Status& status) {
  std::string text = urgent_part(status.alerts) + urgent_part(status.inputs);
  for (const Status::Held& held : status.holds) {
    text += held.code + ',';
  }
  const auto add = [&](int part) { text += std::to_string(part) + ','; };
  add(static_cast<int>(status.gate_open));
  add(static_cast<int>(status.pump));
  add(static_cast<int>(status.stirrer));
  add(static_cast<int>(status.ph.reason));
  add(static_cast<int>(status.temperature.reason));
  add(static_cast<int>(status.second_ph ? status.second_ph->reason : signal::Reason::none));
  add(static_cast<int>(status.pauses.size()));
  add(static_cast<int>(status.pause_remaining > Duration{}));
  text += urgent_part(status.refused);
  return text + exact_number_text(status.day_volume.count()) + ',' +
         exact_number_text(status.day_volume_at_station.count());
}

}  // namespace limegate::mqtt
