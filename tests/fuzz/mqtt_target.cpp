// A message from the broker: the first line is its topic, the rest its payload. Whatever comes asks
// for no more than may be asked for from afar, and leaves no more behind than is bounded.
#include <chrono>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>
#include <variant>

#include "fuzz/promise.h"
#include "mqtt/hub_mail.h"
#include "mqtt/inbox.h"
#include "mqtt/input_mail.h"
#include "mqtt/payload.h"
#include "mqtt/set_message.h"
#include "mqtt/tree_mail.h"
#include "units/visitor.h"

namespace {

using limegate::Duration;
using limegate::Instant;
using limegate::Millilitres;
using limegate::Visitor;
using limegate::fuzz::promise;
namespace mqtt = limegate::mqtt;
namespace station = limegate::station;

constexpr Millilitres kMost{2000.0};

void judge(const station::Command& command) {
  promise(station::permits(station::Origin::afar, command), "it may be asked for from afar");
  std::visit(Visitor{[](const station::Pause& pause) {
                       promise(pause.lasting >= Duration::zero() &&
                                   pause.lasting <= std::chrono::hours{24},
                               "a pause ends by itself");
                     },
                     [](const station::SetDayVolume& set) {
                       promise(set.volume >= Millilitres{0.0} && set.volume <= kMost,
                               "a volume keeps to its format");
                     },
                     [](const auto&) {}},
             command);
}

void judge(const std::variant<mqtt::Ordered, mqtt::Refused>& read) {
  if (const auto* refused = std::get_if<mqtt::Refused>(&read)) {
    promise(!refused->sentence.empty() && refused->sentence.size() < 1000, "a refusal says why");
    promise(mqtt::is_utf8(refused->sentence), "a refusal can be published");
  } else if (const auto* asked =
                 std::get_if<station::Command>(&std::get<mqtt::Ordered>(read).command)) {
    judge(*asked);
  } else {
    promise(std::holds_alternative<limegate::alerts::Acknowledge>(
                std::get<limegate::alerts::Command>(std::get<mqtt::Ordered>(read).command)),
            "from afar an alert is acknowledged at most");
  }
}

void judge_input(std::string_view payload) {
  using Kind = limegate::rules::Input::Kind;
  const auto number = mqtt::read_input(payload, Kind::analogue);
  promise(!number || std::isfinite(*number), "an input is a number");
  const auto digital = mqtt::read_input(payload, Kind::digital);
  promise(!digital || *digital == 0.0 || *digital == 1.0, "an input is on or off");
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text{reinterpret_cast<const char*>(data), size};
  const std::size_t end = std::min(text.find('\n'), text.size());
  const std::string_view topic = text.substr(0, end);
  const std::string_view payload = text.substr(std::min(end + 1, text.size()));
  const Instant now{std::chrono::hours{1}};

  mqtt::Inbox inbox{"homie/5", {"limegate-reef", "limegate"}};
  (void)inbox.offer(topic, payload, false, now);
  for (const auto& command : inbox.take().commands) {
    judge(command.device == 1 ? mqtt::read_root_set(command.topic, command.payload)
                              : mqtt::read_station_set(command.topic, command.payload, kMost));
  }
  judge_input(payload);

  mqtt::TreeMail tree{"homie/5", {"limegate-reef", "limegate"}};
  for (const auto age : {mqtt::TreeMail::Age::kept, mqtt::TreeMail::Age::fresh}) {
    (void)tree.offer(topic, payload, age, now);
  }
  const auto found = tree.take();
  for (const auto& said : found.said) {
    promise(mqtt::is_utf8(said.path), "what is put right can be published");
  }
  promise(found.orphans.size() <= 32, "orphans are bounded");
  for (const std::string& left_over : found.left_over) {
    promise(left_over.rfind("homie/5/limegate-", 0) == 0, "only our own tree is cleared");
    promise(mqtt::is_utf8(left_over), "what is cleared can be published");
  }
  mqtt::HubMail hub{"discovery", "limegate", "discovery/status"};
  for (const bool retained : {true, false}) {
    (void)hub.offer(topic, payload, retained);
  }
  for (const std::string& left_over : hub.take().left_over) {
    promise(left_over.rfind("discovery/", 0) == 0, "only our own documents are cleared");
    promise(mqtt::is_utf8(left_over), "what is cleared can be published");
  }
  return 0;
}
