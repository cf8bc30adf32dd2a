#include "mqtt/set_message.h"

#include <chrono>

#include "mqtt/payload.h"
#include "station/records.h"

namespace limegate::mqtt {
namespace {

using Result = std::variant<Ordered, Refused>;

/// As the word "all" stands in the property's name.
constexpr const char* kAll = "all";

Refused refused(std::string_view payload, const std::string& why) {
  return {quoted(payload) + " " + why + "."};
}

Result read_acknowledge(std::string_view payload) {
  const auto text = read_string(payload);
  if (!text) {
    return refused(payload, text.error());
  }
  if (text->empty() || *text == kAll) {
    return Ordered{alerts::Command{alerts::Acknowledge{}}};
  }
  if (!is_id(*text)) {
    return refused(payload, "is no id of an alert: a-z, 0-9 and '-'");
  }
  return Ordered{alerts::Command{alerts::Acknowledge{*text}}};
}

Result read_paused(std::string_view payload) {
  const auto paused = read_boolean(payload);
  if (!paused) {
    return refused(payload, paused.error());
  }
  if (*paused) {
    return Ordered{station::Command{station::Pause{}}};
  }
  return Ordered{station::Command{station::Resume{}}};
}

Result read_pause_minutes(std::string_view payload) {
  constexpr auto most = std::chrono::duration_cast<std::chrono::minutes>(station::kPauseMax);
  const auto minutes = read_integer(payload);
  if (!minutes) {
    return refused(payload, minutes.error());
  }
  if (*minutes < 0 || *minutes > most.count()) {
    return refused(payload, "is outside 0 to " + std::to_string(most.count()) + " min");
  }
  if (*minutes == 0) {
    return Ordered{station::Command{station::Resume{}}};
  }
  return Ordered{station::Command{station::Pause{std::chrono::minutes{*minutes}}}};
}

Result read_day_volume(std::string_view payload, Millilitres most) {
  const auto volume = read_float(payload);
  if (!volume) {
    return refused(payload, volume.error());
  }
  if (!(*volume >= 0.0 && *volume <= most.count())) {
    return refused(payload, "is outside 0 to " + exact_number_text(most.count()) +
                                " mL; more is set at the station only");
  }
  return Ordered{station::Command{station::SetDayVolume{Millilitres{*volume}}}};
}

}  // namespace

std::string path_of(const SetTopic& topic) { return topic.node + "/" + topic.property; }

Result read_station_set(const SetTopic& topic, std::string_view payload,
                        Millilitres day_volume_max) {
  const std::string path = path_of(topic);
  if (path == "keeper/paused") {
    return read_paused(payload);
  }
  if (path == "keeper/pause-minutes") {
    return read_pause_minutes(payload);
  }
  if (path == "plan/day-volume") {
    return read_day_volume(payload, day_volume_max);
  }
  return read_root_set(topic, payload);
}

Result read_root_set(const SetTopic& topic, std::string_view payload) {
  if (path_of(topic) == "keeper/acknowledge") {
    return read_acknowledge(payload);
  }
  return Refused{"It can't be set."};
}

}  // namespace limegate::mqtt
