#include "mqtt/tree_mail.h"

#include <algorithm>
#include <utility>

#include <nlohmann/json.hpp>

#include "mqtt/payload.h"

namespace limegate::mqtt {
namespace {

/// A new connection brings the whole tree at once. Who publishes there all the time is put right as
/// often as people look.
constexpr double kBurst = 3000;
constexpr double kPerSecond = 5;
/// Only the description of the root is read in full; a longer value differs from ours by being cut.
constexpr std::size_t kPayloadMax = 4096;
constexpr std::size_t kWaitingMax = 1'000'000;  ///< bytes, until the loop comes
constexpr std::size_t kTopicMax = 512;
constexpr std::size_t kOrphansMax = 32;

}  // namespace

TreeMail::TreeMail(std::string base, std::vector<std::string> devices)
    : base_(std::move(base) + "/"), devices_(std::move(devices)), bucket_(kBurst, kPerSecond) {}

void TreeMail::look_for_orphans(std::string_view description) {
  const auto described = nlohmann::json::parse(description, nullptr, false);
  if (!described.is_object() || !described.contains("children") ||
      !described["children"].is_array()) {
    return;
  }
  const std::string ours = devices_.back() + "-";
  for (const auto& child : described["children"]) {
    const std::string id = child.is_string() ? child.get<std::string>() : "";
    // Somebody else may have written it: only what can be a station of ours.
    const bool station = id.rfind(ours, 0) == 0 && is_id(id);
    if (station && orphans_.size() < kOrphansMax &&
        std::find(devices_.begin(), devices_.end(), id) == devices_.end() &&
        orphans_.try_emplace(id).second) {
      waiting_.orphans.push_back(id);
    }
  }
}

bool TreeMail::admit(std::size_t size, Instant now) {
  if (bytes_ + size > kWaitingMax || !bucket_.take(now)) {
    waiting_.missed = true;
    return false;
  }
  bytes_ += size;
  return true;
}

void TreeMail::take_of_orphan(Orphan& orphan, std::string_view topic, std::string_view path,
                              std::string_view payload) {
  orphan.kept.emplace_back(topic);
  if (path == "/$description") {
    const auto described = nlohmann::json::parse(payload, nullptr, false);
    orphan.ours = described.is_object() && described.value("root", "") == devices_.back();
  }
  if (orphan.ours) {
    waiting_.left_over.insert(waiting_.left_over.end(), orphan.kept.begin(), orphan.kept.end());
    orphan.kept.clear();
  }
}

bool TreeMail::offer(std::string_view topic, std::string_view payload, Age age, Instant now) {
  if (topic.size() > kTopicMax || topic.substr(0, base_.size()) != base_ || !is_printable(topic)) {
    return false;
  }
  const std::string_view below = topic.substr(base_.size());
  const std::string id{below.substr(0, below.find('/'))};
  const std::string_view path = below.substr(id.size());
  const auto device = std::find(devices_.begin(), devices_.end(), id);
  const std::lock_guard lock{mutex_};
  const auto orphan = orphans_.find(id);
  if (device == devices_.end()) {
    // What comes live is somebody's who lives.
    const bool left = orphan != orphans_.end() && age == Age::kept && !payload.empty();
    if (left && admit(topic.size(), now)) {
      take_of_orphan(orphan->second, topic, path, payload);
    }
    return orphan != orphans_.end();
  }
  if (std::count(path.begin(), path.end(), '/') > 2) {
    return false;  // a command
  }
  const auto index = static_cast<std::size_t>(device - devices_.begin());
  const bool root_described = index + 1 == devices_.size() && path == "/$description";
  if (root_described) {
    look_for_orphans(payload);
  } else {
    payload = payload.substr(0, kPayloadMax);
  }
  if (admit(topic.size() + payload.size(), now)) {
    waiting_.said.push_back({index, std::string{path}, std::string{payload}});
  }
  return true;
}

void TreeMail::forget() {
  const std::lock_guard lock{mutex_};
  waiting_ = {};
  bytes_ = 0;
  for (auto& [id, orphan] : orphans_) {
    orphan = {};
    waiting_.orphans.push_back(id);
  }
}

TreeMail::Taken TreeMail::take() {
  const std::lock_guard lock{mutex_};
  bytes_ = 0;
  return std::exchange(waiting_, {});
}

}  // namespace limegate::mqtt
