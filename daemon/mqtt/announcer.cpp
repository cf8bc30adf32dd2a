#include "mqtt/announcer.h"

#include <iterator>
#include <unordered_set>
#include <utility>

namespace limegate::mqtt {

Announcer::Announcer(const Settings& settings)
    : filter_(settings.discovery_prefix + "/+/" + settings.device + "/+/config"),
      birth_topic_(settings.discovery_birth_topic),
      jitter_max_(settings.discovery_jitter_max),
      random_(std::random_device{}()),
      mail_(std::make_shared<HubMail>(settings.discovery_prefix, settings.device, birth_topic_)) {}

void Announcer::show(std::size_t device, const std::vector<Message>& documents) {
  for (auto& [topic, document] : documents_) {
    if (document.device == device) {
      document.wanted.clear();
    }
  }
  for (const Message& message : documents) {
    Document& document = documents_[message.topic];
    document.device = device;
    document.wanted = message.payload;
  }
  std::unordered_set<std::string> expected;
  for (const auto& [topic, document] : documents_) {
    if (!document.wanted.empty()) {
      expected.insert(topic);
    }
  }
  mail_->expect(std::move(expected));
  settled_ = false;
}

void Announcer::forget() {
  for (auto& [topic, document] : documents_) {
    document.sent.reset();
  }
  settled_ = false;
  again_at_.reset();
}

void Announcer::tick(Instant now) {
  HubMail::Taken taken = mail_->take();
  for (std::string& topic : taken.left_over) {
    documents_.try_emplace(std::move(topic));
    settled_ = false;
  }
  if (taken.born && !again_at_) {
    // Not at once: all that a broker knows answers a hub that starts.
    again_at_ = now + Duration{std::uniform_int_distribution<Duration::rep>{
                          0, jitter_max_.count()}(random_)};
  }
  if (again_at_ && now >= *again_at_) {
    forget();
  }
}

std::vector<Message> Announcer::take(std::size_t most) {
  std::vector<Message> messages;
  if (settled_) {
    return messages;
  }
  for (auto one = documents_.begin(); one != documents_.end();) {
    auto& [topic, document] = *one;
    if (document.sent != document.wanted) {
      if (messages.size() == most) {
        return messages;
      }
      messages.push_back({topic, document.wanted});
      document.sent = document.wanted;
    }
    one = document.wanted.empty() ? documents_.erase(one) : std::next(one);
  }
  settled_ = true;
  return messages;
}

std::vector<Link::Filter> Announcer::filters() const {
  return {{filter_, Link::Filter::Gets::kept_too}, {birth_topic_, Link::Filter::Gets::values}};
}

}  // namespace limegate::mqtt
