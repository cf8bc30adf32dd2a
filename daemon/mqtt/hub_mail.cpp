#include "mqtt/hub_mail.h"

#include <algorithm>
#include <utility>

#include "mqtt/payload.h"

namespace limegate::mqtt {
namespace {

constexpr std::string_view kBorn = "online";
constexpr std::string_view kDocument = "/config";
/// More than a dozen stations leave behind; what is beyond goes with the next connection.
constexpr std::size_t kLeftOverMax = 1000;
constexpr std::size_t kTopicMax = 512;

}  // namespace

HubMail::HubMail(std::string prefix, std::string root, std::string birth_topic)
    : prefix_(std::move(prefix) + "/"),
      root_("/" + std::move(root) + "/"),
      birth_topic_(std::move(birth_topic)) {}

bool HubMail::is_document(std::string_view topic) const {
  if (topic.size() > kTopicMax || topic.substr(0, prefix_.size()) != prefix_ ||
      !is_printable(topic)) {
    return false;
  }
  topic.remove_prefix(prefix_.size());
  topic.remove_prefix(std::min(topic.find('/'), topic.size()));
  return topic.substr(0, root_.size()) == root_ && topic.size() > root_.size() + kDocument.size() &&
         topic.substr(topic.size() - kDocument.size()) == kDocument;
}

bool HubMail::offer(std::string_view topic, std::string_view payload, bool retained) {
  if (topic == birth_topic_) {
    if (payload == kBorn) {
      const std::lock_guard lock{mutex_};
      waiting_.born = true;
    }
    return true;
  }
  if (!is_document(topic)) {
    return false;
  }
  if (retained && !payload.empty()) {
    const std::lock_guard lock{mutex_};
    std::string name{topic};
    if (expected_.count(name) == 0 && waiting_.left_over.size() < kLeftOverMax) {
      waiting_.left_over.push_back(std::move(name));
    }
  }
  return true;
}

void HubMail::expect(std::unordered_set<std::string> topics) {
  const std::lock_guard lock{mutex_};
  expected_ = std::move(topics);
}

HubMail::Taken HubMail::take() {
  const std::lock_guard lock{mutex_};
  return std::exchange(waiting_, {});
}

}  // namespace limegate::mqtt
