// What comes from the broker: commands, inputs, and what others leave on our tree.
#include <chrono>
#include <cmath>
#include <utility>

#include "mqtt/image.h"
#include "mqtt/payload.h"
#include "mqtt/surface.h"

namespace limegate::mqtt {
namespace {

/// What an earlier life kept comes within this after we have asked for it.
constexpr Duration kEarlierLife = std::chrono::seconds{10};
/// After a flood that was not looked at in full.
constexpr Duration kLookAgain = std::chrono::minutes{1};

}  // namespace

void Surface::take_mail() {
  const Inbox::Taken taken = inbox_->take();
  for (const Inbox::Command& command : taken.commands) {
    obey(command);
  }
  if (taken.dropped.sum() > 0) {
    parts_.raise("", told_of(taken.dropped, wall_));
  }
  pump();
}

void Surface::take_inputs() {
  for (const InputMail::News& news : input_mail_->take()) {
    const InputTopic& input = parts_.inputs[news.input];
    const auto value = read_input(news.payload, input.kind);
    if (!value) {
      complain("mqtt-input", "What is published at " + input.topic + " is " +
                                 (input.kind == rules::Input::Kind::digital ? "neither on nor off"
                                                                            : "no plain number") +
                                 ": nothing is known of that input.");
    }
    parts_.take_input(news.input, value.value_or(std::nan("")));
  }
}

/// Our tree says what we say: a retained value of somebody else would stand there until the next
/// change, and nobody could tell it from ours.
void Surface::take_tree() {
  TreeMail::Taken taken = tree_mail_->take();
  for (const TreeMail::Said& said : taken.said) {
    const bool wrong = mirror_.found(said.device, said.path, said.payload);
    if (wrong && phase_ == Phase::ready && now().mono - subscribed_at_ > kEarlierLife) {
      const std::string topic = mirror_.topic_of(said.device) + said.path;
      complain("mqtt-foreign",
               "Somebody else published at our topic " + topic + ". It is put right.");
    }
  }
  orphans_.insert(orphans_.end(), taken.orphans.begin(), taken.orphans.end());
  tree_missed_ = tree_missed_ || taken.missed;
  // One list of subscriptions at a time.
  if (phase_ == Phase::ready && !orphans_.empty()) {
    std::vector<Link::Filter> filters;
    filters.reserve(orphans_.size());
    for (const std::string& orphan : std::exchange(orphans_, {})) {
      filters.push_back({base_of(settings_) + "/" + orphan + "/#", Link::Filter::Gets::kept_too});
    }
    link_->subscribe(std::move(filters));
  } else if (phase_ == Phase::ready && tree_missed_ && now().mono - subscribed_at_ > kLookAgain) {
    tree_missed_ = false;
    subscribe();  // what is kept comes anew
  }
  for (std::string& topic : taken.left_over) {
    left_over_.push_back(std::move(topic));
  }
}

void Surface::obey(const Inbox::Command& command) {
  const bool root = command.device == stations_.size();
  Station& target = root ? root_ : stations_[command.device];
  const auto asked = root
                         ? read_root_set(command.topic, command.payload)
                         : read_station_set(command.topic, command.payload, *target.day_volume_max);
  if (const auto* refused = std::get_if<Refused>(&asked)) {
    parts_.raise(target.name,
                 station::event_of({path_of(command.topic), "MQTT", refused->sentence, wall_}));
  } else {
    const alerts::Asked& what = std::get<Ordered>(asked).command;
    const auto answer = parts_.command(target.name, what);
    if (std::holds_alternative<alerts::Command>(what) &&
        answer.verdict == station::Answer::Verdict::accepted) {
      log_.push_back({mirror_.topic_of(command.device) + "/" + command.topic.node + "/" +
                          command.topic.property,
                      command.payload, Message::Kept::no});
    }
  }
  // The value is published anew with the next tick, changed or not: that is Homie's answer.
  target.answer_due = true;
  repeats_.push_back({command.device, command.topic});
}

void Surface::complain(const char* code, const std::string& sentence) {
  parts_.raise("", {wall_, station::Severity::warning, code, "MQTT: " + sentence});
}

}  // namespace limegate::mqtt
