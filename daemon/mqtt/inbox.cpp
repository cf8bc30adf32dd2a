#include "mqtt/inbox.h"

#include <algorithm>
#include <utility>

#include <fmt/format.h>

#include "mqtt/payload.h"

namespace limegate::mqtt {
namespace {

/// No command is longer.
constexpr std::size_t kPayloadMax = 256;
/// A keeper's automation sends a few at once, and then none for hours. Each may cost a row on disk.
constexpr double kBurst = 20;
constexpr double kPerSecond = 2;

/// The levels of `topic` below `base`, if it is below it: up to five.
std::vector<std::string_view> levels_below(std::string_view base, std::string_view topic) {
  std::vector<std::string_view> levels;
  if (topic.size() <= base.size() || topic.substr(0, base.size()) != base ||
      topic[base.size()] != '/') {
    return levels;
  }
  topic.remove_prefix(base.size() + 1);
  while (levels.size() < 5) {
    const std::size_t slash = topic.find('/');
    levels.push_back(topic.substr(0, slash));
    if (slash == std::string_view::npos) {
      break;
    }
    topic.remove_prefix(slash + 1);
  }
  return levels;
}

}  // namespace

Inbox::Inbox(std::string base, std::vector<std::string> devices)
    : base_(std::move(base)), devices_(std::move(devices)), bucket_(kBurst, kPerSecond) {}

bool Inbox::offer(std::string_view topic, std::string_view payload, bool retained, Instant now) {
  const std::lock_guard lock{mutex_};
  const bool first = waiting_.commands.empty();
  const auto levels = levels_below(base_, topic);
  const auto device = std::find(devices_.begin(), devices_.end(),
                                levels.empty() ? std::string_view{} : levels.front());
  if (device == devices_.end()) {
    ++waiting_.dropped.not_ours;
    return false;
  }
  const auto index = static_cast<std::size_t>(device - devices_.begin());
  if (levels.size() != 4 || levels[3] != "set" || topic.size() > kPayloadMax || !is_id(levels[1]) ||
      !is_id(levels[2])) {
    ++waiting_.dropped.not_ours;
  } else if (retained) {
    ++waiting_.dropped.retained;
  } else if (payload.size() > kPayloadMax) {
    ++waiting_.dropped.oversized;
  } else if (!bucket_.take(now)) {
    ++waiting_.dropped.too_many;
  } else {
    waiting_.commands.push_back(
        {index, {std::string{levels[1]}, std::string{levels[2]}}, std::string{payload}});
    return first;
  }
  return false;
}

Inbox::Taken Inbox::take() {
  const std::lock_guard lock{mutex_};
  return std::exchange(waiting_, {});
}

station::Event told_of(const Inbox::Dropped& dropped, WallTime at) {
  std::string list;
  const auto add = [&](std::uint64_t count, const char* what) {
    if (count > 0) {
      list += fmt::format("{}{} {}", list.empty() ? "" : ", ", count, what);
    }
  };
  add(dropped.too_many, "beyond two a second");
  add(dropped.retained, "published as retained, so of any age");
  add(dropped.oversized, "too long");
  add(dropped.not_ours, "to topics that can't be set");
  return {at,
          station::Severity::warning,
          "mqtt-dropped",
          fmt::format("MQTT: commands were dropped unread: {}.", list),
          {},
          {},
          station::Refusal{"commands unread", "MQTT",
                           fmt::format("They were {}. Publish a command to its own topic, not "
                                       "retained, and no more than two a second.",
                                       list),
                           at}};
}

}  // namespace limegate::mqtt
