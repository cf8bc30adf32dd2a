#include "mqtt/mirror.h"

#include <algorithm>
#include <utility>

namespace limegate::mqtt {
namespace {

constexpr const char* kAlerts = "/$alert/";
constexpr const char* kReady = "ready";

}  // namespace

/// Collects messages as long as there is room.
class Mirror::Batch {
 public:
  Batch(std::vector<Message>& messages, std::size_t most) : messages_(&messages), most_(most) {}

  [[nodiscard]] std::size_t room() const { return most_ - messages_->size(); }
  void add(std::string topic, std::string payload) {
    messages_->push_back({std::move(topic), std::move(payload)});
  }
  /// Sends what differs; false if there was no room for it.
  bool add_change(const std::string& topic, Shown& shown) {
    if (shown.sent == shown.wanted) {
      return true;
    }
    if (room() == 0) {
      return false;
    }
    add(topic, shown.wanted);
    shown.sent = shown.wanted;
    return true;
  }

 private:
  std::vector<Message>* messages_;
  std::size_t most_;
};

std::size_t Mirror::add(std::string device) {
  devices_.emplace_back().id = std::move(device);
  return devices_.size() - 1;
}

void Mirror::describe(std::size_t device, const std::string& description) {
  Device& known = devices_[device];
  known.changed = known.changed || known.description.wanted != description;
  known.description.wanted = description;
}

void Mirror::show(std::size_t device, const std::vector<Value>& values,
                  const std::vector<std::pair<std::string, std::string>>& alerts) {
  Device& known = devices_[device];
  known.changed = true;
  if (known.paths.empty()) {
    for (const Value& value : values) {
      known.paths.push_back(std::string{"/"} + value.node + "/" + value.property);
    }
    known.values.resize(values.size());
  }
  for (std::size_t i = 0; i < values.size(); ++i) {
    if (values[i].payload) {
      known.values[i].wanted = *values[i].payload;
    }
  }
  for (auto& [id, alert] : known.alerts) {
    alert.wanted.clear();
  }
  for (const auto& [id, sentence] : alerts) {
    known.alerts[id].wanted = sentence;
    known.strays.erase(kAlerts + id);  // it is ours now
  }
}

void Mirror::forget() {
  ready_allowed_ = false;
  for (Device& device : devices_) {
    device.state = Device::State::unknown;
    device.changed = true;
    device.description.sent.reset();
    device.strays.clear();
    for (Shown& value : device.values) {
      value.sent.reset();
    }
    for (auto& [id, alert] : device.alerts) {
      alert.sent.reset();
    }
  }
}

void Mirror::allow_ready() {
  ready_allowed_ = true;
  for (Device& device : devices_) {
    device.changed = true;
  }
}

void Mirror::repeat(std::size_t device, std::string_view node, std::string_view property) {
  Device& known = devices_[device];
  const std::string path = "/" + std::string{node} + "/" + std::string{property};
  for (std::size_t i = 0; i < known.paths.size(); ++i) {
    if (known.paths[i] == path) {
      known.values[i].sent.reset();
      known.changed = true;
    }
  }
}

/// Forgets what was sent, where something else stands.
bool Mirror::differs(Device& device, const std::string& path, const std::string& payload) {
  const auto forget = [&](Shown& shown) {
    const bool differs = shown.sent && *shown.sent != payload;
    if (differs) {
      shown.sent.reset();
    }
    return differs;
  };
  if (path == "/$state") {
    // What is not ready yet says so in a moment.
    const bool wrong = device.state == Device::State::ready && payload != kReady;
    device.state = wrong ? Device::State::init : device.state;
    return wrong;
  }
  if (path == "/$description") {
    return forget(device.description);
  }
  const auto value = std::find(device.paths.begin(), device.paths.end(), path);
  if (value != device.paths.end()) {
    return forget(device.values[static_cast<std::size_t>(value - device.paths.begin())]);
  }
  if (path.rfind("/$log/", 0) == 0) {
    return false;  // nobody keeps a log there, and a bridge may bring our own back
  }
  if (path.rfind(kAlerts, 0) == 0) {
    const auto alert = device.alerts.find(path.substr(std::string_view{kAlerts}.size()));
    if (alert != device.alerts.end()) {
      return forget(alert->second);
    }
  }
  return !payload.empty() && device.strays.insert(path).second;
}

bool Mirror::found(std::size_t device, const std::string& path, const std::string& payload) {
  Device& known = devices_[device];
  const bool wrong = differs(known, path, payload);
  known.changed = known.changed || wrong;
  return wrong;
}

void Mirror::take(Device& device, Batch& batch) const {
  const std::string topic = base_ + "/" + device.id;
  if (device.description.wanted != device.description.sent) {
    if (batch.room() < 2) {
      return;
    }
    if (device.state != Device::State::init) {
      batch.add(topic + "/$state", "init");
      device.state = Device::State::init;
    }
    (void)batch.add_change(topic + "/$description", device.description);
  }
  for (std::size_t i = 0; i < device.values.size(); ++i) {
    if (!batch.add_change(topic + device.paths[i], device.values[i])) {
      return;
    }
  }
  while (!device.strays.empty()) {
    if (batch.room() == 0) {
      return;
    }
    batch.add(topic + *device.strays.begin(), "");
    device.strays.erase(device.strays.begin());
  }
  for (auto alert = device.alerts.begin(); alert != device.alerts.end();) {
    if (!batch.add_change(topic + kAlerts + alert->first, alert->second)) {
      return;
    }
    alert = alert->second.wanted.empty() ? device.alerts.erase(alert) : std::next(alert);
  }
  if (ready_allowed_ && device.state == Device::State::init) {
    if (batch.room() == 0) {
      return;
    }
    batch.add(topic + "/$state", kReady);
    device.state = Device::State::ready;
  }
  device.changed = false;
}

std::vector<Message> Mirror::take(std::size_t most) {
  std::vector<Message> messages;
  Batch batch{messages, most};
  for (Device& device : devices_) {
    if (device.changed) {
      take(device, batch);
    }
    if (device.changed) {
      break;  // no room: what comes next keeps its order
    }
  }
  return messages;
}

bool Mirror::settled() const {
  return std::none_of(devices_.begin(), devices_.end(),
                      [](const Device& device) { return device.changed; });
}

std::string Mirror::topic_of(std::size_t device) const { return base_ + "/" + devices_[device].id; }

}  // namespace limegate::mqtt
