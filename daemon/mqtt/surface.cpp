#include "mqtt/surface.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <utility>

#include "mqtt/discovery.h"
#include "mqtt/image.h"
#include "mqtt/payload.h"

namespace limegate::mqtt {
namespace {

constexpr std::size_t kLogMax = 50;
/// Of three days and more: no flood makes 30 a day.
constexpr std::size_t kForPeopleMax = 100;

const char* level_of(station::Severity severity) {
  switch (severity) {
    case station::Severity::info:
      return "info";
    case station::Severity::warning:
      return "warn";
    case station::Severity::alert:
      return "error";
  }
  std::abort();
}

}  // namespace

Surface::Surface(Settings settings, Parts parts)
    : settings_(std::move(settings)),
      parts_(std::move(parts)),
      mirror_(base_of(settings_)),
      input_mail_(std::make_shared<InputMail>(parts_.inputs)),
      outage_(settings_) {
  state_.broker = settings_.host + ":" + std::to_string(settings_.port);
  if (!settings_.discovery_prefix.empty()) {
    announcer_.emplace(settings_);
  }
}

Moment Surface::now() const {
  // The broker lives in real time, also where the stations' clock is a faster one.
  return {std::chrono::steady_clock::now(), wall_};
}

void Surface::begin(const station::Overview& overview) {
  std::vector<std::string> devices;
  for (const station::Status& status : overview.stations) {
    devices.push_back(settings_.device + "-" + status.station);
    stations_.push_back({status.station});
    presences_.emplace_back(settings_.descriptions_apart);
  }
  const std::vector<std::string> children = devices;
  devices.push_back(settings_.device);
  for (const std::string& device : devices) {
    mirror_.add(device);
  }
  mirror_.describe(stations_.size(), root_description(children));
  if (announcer_) {
    announcer_->show(stations_.size(), root_documents(settings_));
  }
  inbox_ = std::make_shared<Inbox>(base_of(settings_), devices);
  tree_mail_ = std::make_shared<TreeMail>(base_of(settings_), devices);
  state_.since = wall_;
  begun_by_ = now().mono + settings_.begins_within;
  open_link();
}

void Surface::open_link() {
  Link::Listener listener;
  listener.connected = [this] {
    outage_.accepted(now().mono);
    mirror_.forget();
    tree_mail_->forget();
    if (announcer_) {
      announcer_->forget();
    }
    // First what an earlier life left: once our own stands there, nobody knows of it.
    go_on(Phase::subscribing);
    subscribe();
  };
  listener.failed = [this](const Failure& failure) { lost(failure); };
  listener.subscribed = [this](const std::string& refusal) {
    if (!refusal.empty()) {
      complain(
          "mqtt-refusal",
          "The MQTT broker does not let us hear all that we should (" + refusal +
              "): its access list must let us read below our own device, and the topics of the "
              "inputs and of discovery.");
    }
    take_tree();  // of what an earlier life left nothing was sent yet
    subscribed_at_ = now().mono;
    if (phase_ == Phase::subscribing) {
      go_on(Phase::filling);
    }
    pump();
  };
  listener.room = [this] {
    go_on(phase_);
    pump();
  };
  listener.warned = [this](const std::string& sentence) { complain("mqtt-refusal", sentence); };
  listener.arrived = [inbox = inbox_, inputs = input_mail_, tree = tree_mail_,
                      hub = announcer_ ? announcer_->mail() : nullptr](
                         const std::string& topic, const std::string& payload, bool retained) {
    const auto age = retained ? InputMail::Age::kept : InputMail::Age::fresh;
    // Nothing forbids an input where the hub speaks.
    const bool of_hub = hub && hub->offer(topic, payload, retained);
    const Instant at = std::chrono::steady_clock::now();
    const bool of_tree =
        tree->offer(topic, payload, retained ? TreeMail::Age::kept : TreeMail::Age::fresh, at);
    return !inputs->offer(topic, payload, age) && !of_hub && !of_tree &&
           inbox->offer(topic, payload, retained, at);
  };
  listener.mail = [this] { take_mail(); };
  link_ = std::make_unique<Link>(settings_,
                                 Message{mirror_.topic_of(stations_.size()) + "/$state", "lost"},
                                 parts_.post, std::move(listener));
}

void Surface::show(const station::Overview& overview) {
  if (phase_ == Phase::stopped) {
    return;
  }
  wall_ = overview.at.wall;
  if (!link_) {
    begin(overview);
  }
  update(overview);
  take_mail();
  take_inputs();
  take_tree();
  raise_all(outage_.tick(now()));
  if (announcer_) {
    announcer_->tick(now().mono);
  }
  connect_where_due();
  pump();
}

void Surface::connect_where_due() {
  const bool on_its_way =
      phase_ == Phase::connecting || phase_ == Phase::filling || phase_ == Phase::subscribing;
  if (on_its_way && now().mono >= stuck_at_) {
    // Neither paho nor a broker is trusted to answer whatever happens.
    lost({Failure::Kind::unreachable, "the connection got stuck while it was made"});
  }
  if (phase_ == Phase::away && now().mono >= next_attempt_) {
    connect();
  }
}

void Surface::connect() {
  go_on(Phase::connecting);
  link_->connect();
}

void Surface::go_on(Phase phase) {
  if ((phase == Phase::ready) != (phase_ == Phase::ready)) {
    state_.connected = phase == Phase::ready;
    state_.since = wall_;
  }
  phase_ = phase;
  stuck_at_ = now().mono + settings_.answer_within;
}

/// Nothing is left to send that may be sent in this phase.
bool Surface::settled() const {
  return mirror_.settled() && log_.empty() &&
         (phase_ != Phase::ready ||
          (for_people_.empty() && left_over_.empty() && (!announcer_ || announcer_->settled())));
}

void Surface::pump() {
  if (phase_ != Phase::filling && phase_ != Phase::ready) {
    return;
  }
  const std::size_t room = link_->room();
  std::vector<Message> messages = mirror_.take(room);
  if (mirror_.settled() && phase_ == Phase::ready) {
    while (!for_people_.empty() && messages.size() < room) {
      messages.push_back({mirror_.topic_of(stations_.size()) + "/alerts/" + kMessageProperty,
                          std::move(for_people_.front()), Message::Kept::no});
      for_people_.pop_front();
    }
    while (!left_over_.empty() && messages.size() < room) {
      messages.push_back({std::move(left_over_.front()), ""});
      left_over_.pop_front();
    }
    while (!log_.empty() && messages.size() < room) {
      messages.push_back(std::move(log_.front()));
      log_.pop_front();
    }
    // Last, so that nobody who keeps calling for them holds anything else up.
    if (announcer_) {
      for (Message& document : announcer_->take(room - messages.size())) {
        messages.push_back(std::move(document));
      }
    }
  }
  link_->publish(std::move(messages));
  if (!settled()) {
    link_->ask_for_room();
  } else if (phase_ == Phase::filling && begun()) {
    go_on(Phase::ready);
    outage_.connected(now().mono);
    mirror_.allow_ready();
    link_->ask_for_room();
  }
}

void Surface::subscribe() {
  std::vector<Link::Filter> filters;
  for (std::size_t i = 0; i < mirror_.size(); ++i) {
    filters.push_back({mirror_.topic_of(i) + "/+/+/set", Link::Filter::Gets::news});
    // Our own publications do not come back: what comes is of an earlier life or of others.
    filters.push_back({mirror_.topic_of(i) + "/+", Link::Filter::Gets::kept_too});
    filters.push_back({mirror_.topic_of(i) + "/+/+", Link::Filter::Gets::kept_too});
  }
  // A kept value is of any age, and so no evidence: what an input is, its next message says.
  for (const InputTopic& input : parts_.inputs) {
    filters.push_back({input.topic, Link::Filter::Gets::values});
  }
  if (announcer_) {
    for (Link::Filter& filter : announcer_->filters()) {
      filters.push_back(std::move(filter));
    }
  }
  link_->subscribe(std::move(filters));
}

void Surface::lost(const Failure& failure) {
  if (phase_ == Phase::away) {
    return;  // paho may say it twice
  }
  go_on(Phase::away);
  state_.last_fault = failure.why;
  state_.last_fault_at = wall_;
  log_.clear();
  left_over_.clear();
  raise_all(outage_.failed(failure, now()));
  next_attempt_ = now().mono + outage_.back_off();
  if (outage_.back_off() == Duration::zero()) {
    connect();
  }
}

void Surface::raise_all(const Outage::Events& events) {
  for (const station::Event& event : events) {
    parts_.raise("", event);
  }
}

void Surface::tell(const std::string& station, const station::Event& event) {
  if (phase_ != Phase::ready) {
    return;
  }
  const auto known = std::find_if(stations_.begin(), stations_.end(),
                                  [&](const Station& one) { return one.name == station; });
  if (log_.size() == kLogMax) {
    log_.pop_front();
  }
  log_.push_back({mirror_.topic_of(static_cast<std::size_t>(known - stations_.begin())) + "/$log/" +
                      level_of(event.severity),
                  event.sentence, Message::Kept::no});
}

void Surface::give_out(const std::string& event) {
  if (for_people_.size() == kForPeopleMax) {
    for_people_.pop_front();
  }
  for_people_.push_back(event);
}

void Surface::stop() {
  phase_ = Phase::stopped;
  if (!link_) {
    return;
  }
  std::vector<Message> goodbye;
  for (std::size_t i = 0; i < mirror_.size(); ++i) {
    goodbye.push_back({mirror_.topic_of(i) + "/$state", "disconnected"});
  }
  link_->finish(std::move(goodbye));
  link_.reset();
}

}  // namespace limegate::mqtt
