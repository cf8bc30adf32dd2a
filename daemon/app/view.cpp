#include "app/view.h"

#include <algorithm>
#include <chrono>

#include <fmt/chrono.h>
#include <fmt/format.h>

#include "alerts/verdict.h"
#include "units/plain_number.h"

namespace limegate::app {
namespace {

std::string time_of(WallTime wall) {
  const std::time_t seconds = std::chrono::system_clock::to_time_t(
      std::chrono::time_point_cast<std::chrono::system_clock::duration>(wall));
  return fmt::format("{:%Y-%m-%d %H:%M:%S %z}", fmt::localtime(seconds));
}

std::string reading_of(const signal::Reading& reading, const char* format) {
  if (reading.quality == signal::Quality::bad) {
    return std::string{signal::name_of(reading.reason)} +
           " (probe: " + signal::name_of(signal::status_of(reading)) + ")";
  }
  return fmt::format(fmt::runtime(format), reading.value) + " " + signal::name_of(reading.quality);
}

std::string reference_of(const station::Status& status) {
  if (!status.reference) {
    return "  no reference of undosed days: a slow rise above it is not judged\n";
  }
  const std::string now =
      status.above_reference
          ? fmt::format("now {:+.2f} at this hour", status.above_reference->count())
          : "not compared before the usual course is learned";
  return fmt::format("  reference of undosed days: pH {:.2f}, {}\n", status.reference->count(),
                     now);
}

std::string alerts_of(const std::vector<station::Alert>& alerts) {
  std::string out;
  for (const station::Alert& alert : alerts) {
    out += fmt::format("  ! {} since {}{}: {}\n", alert.id, time_of(alert.since),
                       alert.seen == station::Alert::Seen::yes ? ", seen" : "", alert.sentence);
  }
  return out;
}

std::string refused_of(const std::optional<station::Refusal>& refused) {
  return refused ? fmt::format("  refused last: {} by {} at {}{}. {}\n", refused->what, refused->by,
                               time_of(refused->at),
                               refused->times > 1 ? fmt::format(", {} times", refused->times) : "",
                               refused->why)
                 : "";
}

/// Where the record is missing the whole allowance counts as used.
std::string given(Millilitres counted) {
  return counted >= kCountsAsFull ? "all" : fmt::format("{:.1f}", counted.count());
}

std::string mqtt_of(const std::optional<station::MqttState>& mqtt) {
  if (!mqtt) {
    return "";
  }
  const std::string fault =
      mqtt->last_fault_at
          ? fmt::format("; last fault {}: {}", time_of(*mqtt->last_fault_at), mqtt->last_fault)
          : "";
  return fmt::format("  MQTT: {} {} since {}{}\n",
                     mqtt->connected ? "connected to" : "not connected to", mqtt->broker,
                     time_of(mqtt->since), fault);
}

}  // namespace

std::string input_of(const rules::InputShown& input) {
  const bool digital = input.kind == rules::Input::Kind::digital;
  const std::string value = !input.value ? "not known"
                            : digital    ? (*input.value > 0.5 ? "on" : "off")
                                         : fmt::format("{}{}{}", plain_number(*input.value, 6),
                                                    input.unit.empty() ? "" : " ", input.unit);
  return fmt::format("  input {}: {}, {} ago\n", input.name, value, rules::for_people(input.age));
}

std::string alkalinity_of(const station::Status& status) {
  const auto& tested = status.alkalinity;
  if (!tested) {
    return "";
  }
  const Duration ago = status.at.wall - tested->at;
  const bool dated = status.at.wall_trusted && ago >= Duration::zero();
  const char* const old = dated ? "too old" : "its date can't be trusted by this clock";
  return fmt::format(
      "  alkalinity {:.1f} dKH, tested {}{}\n", tested->level.count(),
      dated ? rules::for_people(ago) + " ago" : "at " + time_of(tested->at),
      tested->counts == station::Status::Tested::Counts::yes
          ? ""
          : fmt::format(": {}, so pulses are sized for the most sensitive water", old));
}

std::string powder_of(const station::Status& status) {
  const auto refill =
      std::find_if(status.upkeep.begin(), status.upkeep.end(),
                   [](const care::UpkeepItem& item) { return item.chore == care::Chore::refill; });
  return status.powder && refill != status.upkeep.end() ? fmt::format("  {}\n", refill->sentence)
                                                        : "";
}

/// While the keeper is away, or works at the reactor.
std::string absence_of(const station::Status& status) {
  return (status.in_service ? std::string{"  work at the reactor: paused, and the stirrer rests\n"}
                            : "") +
         (status.away ? fmt::format("  away until {}: {:.1f} mL a day at most\n",
                                    time_of(status.away->until), status.away->volume.count())
                      : "");
}

/// Empty where nobody knows when it comes.
std::string next_pulse_of(const station::Status& status, const alerts::Verdict& verdict) {
  if (status.next_pulse_in) {
    return fmt::format("  next pulse: {:.1f} mL in {}\n", status.pulse_volume.count(),
                       rules::for_people(*status.next_pulse_in));
  }
  return status.pulse_volume > Millilitres{0.0} &&
                 verdict.standing != alerts::Verdict::Standing::needs_a_person
             ? "  next pulse: after the next stir has settled\n"
             : "";
}

/// What is planned a day, and what of it is given.
std::string planned_of(const station::Status& status) {
  std::string out =
      fmt::format("  planned: {:.1f} mL a day{}\n", status.day_volume.count(),
                  status.day_volume < status.day_volume_at_station
                      ? fmt::format(", {}; at the station {:.1f}",
                                    status.away ? "while you are away" : "set from afar",
                                    status.day_volume_at_station.count())
                      : "");
  out += absence_of(status);
  if (!status.halved.empty()) {
    out += fmt::format("  in force: {:.1f} mL a day. {}\n", status.day_volume_in_force.count(),
                       status.halved);
  }
  if (status.volume_share < 1.0) {
    out += fmt::format("  eased to {:.0f} % of that, because the pH rose; 5 % more each calm day\n",
                       100.0 * status.volume_share);
  }
  return out;
}

std::string view_of(const station::Status& status) {
  const alerts::Verdict verdict = alerts::verdict_of(status);
  std::string out =
      fmt::format("{}   {}\n  {}\n", status.station, time_of(status.at.wall), verdict.sentence);
  if (!verdict.action.empty()) {
    out += fmt::format("  {}\n", verdict.action);
  }
  out += fmt::format("  pH {}   temperature {}\n", reading_of(status.ph, "{:.2f}"),
                     reading_of(status.temperature, "{:.1f} °C"));
  out += next_pulse_of(status, verdict);
  if (status.second_ph) {
    out += fmt::format("  second pH {}; the higher one counts\n",
                       reading_of(*status.second_ph, "{:.2f}"));
  }
  for (const rules::InputShown& input : status.inputs) {
    out += input_of(input);
  }
  out += status.usual_ph
             ? fmt::format("  usual at this time of day: pH {:.2f}\n", status.usual_ph->count())
             : fmt::format(
                   "  the usual course of the pH is not learned yet (days to go: {}): until "
                   "then a climb is judged more coarsely\n",
                   status.usual_course_days_to_go);
  out += status.usual_effect
             ? fmt::format("  doses usually do {:.0f} % of what chemistry expects of them\n",
                           100.0 * *status.usual_effect)
             : fmt::format("  the usual effect of doses is not learned yet (days to go: {})\n",
                           status.usual_effect_days_to_go);
  out += reference_of(status);
  out += alkalinity_of(status);
  out += powder_of(status);
  out += fmt::format("  dosing is {}\n", status.gate_open ? "open" : "held:");
  for (const auto& hold : status.holds) {
    out += "    - " + hold.sentence + "\n";
  }
  out += fmt::format("  pump {}   stirrer {}   next stir in {}\n", station::name_of(status.pump),
                     rules::name_of(status.stirrer), rules::for_people(status.next_stir_in));
  out += fmt::format("  counted: {} of {:.1f} mL in 24 h, {} of {:.1f} mL in 1 h\n",
                     given(status.given_day), status.day_limit.count(), given(status.given_hour),
                     status.hour_limit.count());
  out += planned_of(status);
  return out + refused_of(status.refused) + alerts_of(status.alerts);
}

std::string view_of(const station::Overview& overview) {
  std::string out =
      alerts_of(overview.alerts) + refused_of(overview.refused) + mqtt_of(overview.mqtt);
  for (const station::Status& status : overview.stations) {
    out += view_of(status) + "\n";
  }
  return out;
}

std::string view_of(const std::vector<Happened>& events, std::size_t count) {
  std::string out;
  const std::size_t skip = events.size() > count ? events.size() - count : 0;
  for (std::size_t i = skip; i < events.size(); ++i) {
    out += fmt::format("  {}  {}\n", time_of(events[i].event.at), events[i].event.sentence);
  }
  return out;
}

}  // namespace limegate::app
