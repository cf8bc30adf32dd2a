#include "mqtt/tree_mail.h"

#include <algorithm>
#include <utility>

#include <nlohmann/json.hpp>

namespace limegate::mqtt {
namespace {

/// A new connection brings the whole tree at once. Who publishes there all the time is put right as
/// often as people look.
constexpr double kBurst = 3000;
constexpr double kPerSecond = 5;
/// No value and no description of ours is longer. What is cut differs from all of them.
constexpr std::size_t kPayloadMax = 131'072;
constexpr std::size_t kTopicMax = 512;
constexpr std::size_t kOrphansMax = 32;

}  // namespace

TreeMail::TreeMail(std::string base, std::vector<std::string> devices)
    : base_(std::move(base) + "/"), devices_(std::move(devices)), tokens_(kBurst) {}

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
    const bool station = id.rfind(ours, 0) == 0 && id.find_first_of("/#+") == std::string::npos;
    if (station && orphans_.size() < kOrphansMax &&
        std::find(devices_.begin(), devices_.end(), id) == devices_.end() &&
        orphans_.insert(id).second) {
      waiting_.orphans.push_back(id);
    }
  }
}

bool TreeMail::offer(std::string_view topic, std::string_view payload, Instant now) {
  if (topic.size() > kTopicMax || topic.substr(0, base_.size()) != base_) {
    return false;
  }
  const std::string_view below = topic.substr(base_.size());
  const std::string id{below.substr(0, below.find('/'))};
  const std::string_view path = below.substr(id.size());
  const auto device = std::find(devices_.begin(), devices_.end(), id);
  const std::lock_guard lock{mutex_};
  if (device == devices_.end() && orphans_.count(id) == 0) {
    return false;
  }
  if (device != devices_.end() && std::count(path.begin(), path.end(), '/') > 2) {
    return false;  // a command
  }
  const double seconds = std::chrono::duration<double>(now - filled_).count();
  tokens_ = std::min(kBurst, tokens_ + std::max(seconds, 0.0) * kPerSecond);
  filled_ = now;
  if (tokens_ < 1) {
    return true;
  }
  tokens_ -= 1;
  if (device == devices_.end()) {
    if (!payload.empty()) {
      waiting_.left_over.emplace_back(topic);
    }
    return true;
  }
  payload = payload.substr(0, kPayloadMax);
  const auto index = static_cast<std::size_t>(device - devices_.begin());
  if (index + 1 == devices_.size() && path == "/$description") {
    look_for_orphans(payload);
  }
  waiting_.said.push_back({index, std::string{path}, std::string{payload}});
  return true;
}

TreeMail::Taken TreeMail::take() {
  const std::lock_guard lock{mutex_};
  return std::exchange(waiting_, {});
}

}  // namespace limegate::mqtt
