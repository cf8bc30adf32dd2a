#include "alerts/message.h"

#include <algorithm>
#include <chrono>
#include <cstdlib>

#include <fmt/chrono.h>
#include <fmt/format.h>

#include "rules/for_people.h"

namespace limegate::alerts {
namespace {

/// A subject is read on a locked screen.
constexpr std::size_t kSubjectMax = 140;

const char* word_of(Urgency urgency) {
  switch (urgency) {
    case Urgency::act_now:
      return "act now";
    case Urgency::act_today:
      return "act today";
    case Urgency::when_you_can:
      return "look when you can";
  }
  std::abort();
}

bool over(const Message::Item& item) {
  return item.state == name_of(State::returned_unacknowledged);
}

std::string place(const Message::Item& item) {
  return item.station.empty() ? std::string{"The daemon"} : item.station;
}

/// Up to the end of its first sentence, no longer than a subject, and on one line.
std::string beginning_of(const std::string& text) {
  std::size_t end = text.find(". ");
  end = std::min(end == std::string::npos ? text.size() : end + 1, kSubjectMax);
  while (end > 0 && end < text.size() && (static_cast<unsigned char>(text[end]) & 0xC0U) == 0x80U) {
    --end;  // never half a letter
  }
  std::string beginning = text.substr(0, end);
  std::replace_if(
      beginning.begin(), beginning.end(), [](unsigned char letter) { return letter < 0x20U; }, ' ');
  return beginning;
}

std::string local(WallTime at) {
  const std::time_t seconds = std::chrono::system_clock::to_time_t(at);
  std::tm parts{};
  ::localtime_r(&seconds, &parts);
  return fmt::format("{:%Y-%m-%d %H:%M %z}", parts);
}

std::string lead(const Message::Item& item, WallTime now) {
  std::string text = place(item) + ": " + item.sentence + "\n";
  const Duration stood = std::chrono::duration_cast<Duration>(now - item.since);
  text += "Since " + local(item.since);
  text += stood >= std::chrono::minutes{1} ? ", for " + rules::for_people(stood) : "";
  text += item.came > 1 ? fmt::format("; it came {} times", item.came) : "";
  text += ".\n";
  if (over(item)) {
    return text + "It is over.\n";
  }
  if (!item.cost.empty()) {
    text += item.cost + "\n";
  }
  text += "\nWhat it comes to: " + item.consequence + "\nWhat to do: " + item.action + "\n";
  text += "It may wait " + rules::for_people(item.may_wait) + ".\n";
  if (item.latched) {
    text += "It waits for a person at the station, and comes back every third day until then.\n";
  }
  for (const std::string& sentence : item.explains) {
    text += "From it follows: " + sentence + "\n";
  }
  return text;
}

}  // namespace

const char* name_of(Message::Type type) {
  switch (type) {
    case Message::Type::raised:
      return "raised";
    case Message::Type::again:
      return "again";
    case Message::Type::returned:
      return "returned";
    case Message::Type::test:
      return "test";
    case Message::Type::all_well:
      return "all-well";
  }
  std::abort();
}

void write_for_people(Message& message) {
  if (message.alerts.empty()) {
    const bool test = message.type == Message::Type::test;
    message.subject = test ? "Limegate: a test message" : "Limegate: all is well";
    message.text += message.text.empty() ? message.subject + ".\n" : "";
    return;
  }
  const Message::Item& first = message.alerts.front();
  const std::size_t more = message.alerts.size() - 1;
  message.subject = "Limegate, " + place(first) + ": " +
                    (over(first) ? std::string{"over"} : word_of(first.urgency)) + ": " +
                    beginning_of(first.sentence) +
                    (more > 0 ? fmt::format(" (and {} more)", more) : "");
  message.text = lead(first, message.at);
  for (std::size_t i = 1; i < message.alerts.size(); ++i) {
    const Message::Item& item = message.alerts[i];
    message.text += fmt::format("\n{}, {}: {}\n", place(item),
                                over(item) ? "over" : word_of(item.urgency), item.sentence);
    message.text += over(item) ? "" : "What to do: " + item.action + "\n";
  }
  message.text += "\nSay that it was seen: limegate acknowledge. That releases nothing.\n";
}

}  // namespace limegate::alerts
