#include "mqtt/dropped_report.h"

#include <chrono>
#include <string>
#include <utility>

namespace limegate::mqtt {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using station::Event;
using station::Severity;

constexpr Duration kAgainAfter = 10min;
constexpr Duration kOverAfter = 1min;

std::string list_of(const Inbox::Dropped& dropped) {
  std::string text;
  const auto add = [&](std::uint64_t count, const char* what) {
    if (count > 0) {
      text += (text.empty() ? "" : ", ") + std::to_string(count) + " " + what;
    }
  };
  add(dropped.too_many, "beyond two a second");
  add(dropped.retained, "published as retained, so of any age");
  add(dropped.oversized, "too long");
  add(dropped.not_ours, "to topics that can't be set");
  return text;
}

}  // namespace

std::optional<Event> DroppedReport::take(const Inbox::Dropped& dropped, Moment now) {
  const bool under_way = total_.sum() > 0;
  if (dropped.sum() > 0) {
    newest_ = now.mono;
    total_.too_many += dropped.too_many;
    total_.retained += dropped.retained;
    total_.oversized += dropped.oversized;
    total_.not_ours += dropped.not_ours;
    if (!under_way) {
      told_ = now.mono;
      return Event{now.wall, Severity::warning, "mqtt-dropped",
                   "MQTT: commands were dropped unread: " + list_of(total_) + "."};
    }
  }
  if (!under_way) {
    return std::nullopt;
  }
  if (now.mono - newest_ >= kOverAfter) {
    return Event{now.wall, Severity::info, "mqtt-dropped-over",
                 "MQTT: no more commands come that must be dropped; in all " +
                     list_of(std::exchange(total_, {})) + "."};
  }
  if (now.mono - told_ >= kAgainAfter) {
    told_ = now.mono;
    return Event{now.wall, Severity::warning, "mqtt-dropped",
                 "MQTT: commands go on being dropped unread: " + list_of(total_) + " by now."};
  }
  return std::nullopt;
}

}  // namespace limegate::mqtt
