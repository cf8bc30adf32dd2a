#include "manual/facts.h"

#include <chrono>
#include <cstddef>
#include <string>
#include <type_traits>
#include <utility>
#include <variant>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "alerts/kind.h"
#include "mqtt/image.h"
#include "rules/hold.h"

namespace limegate::test {
namespace {

template <std::size_t I>
void add_holds_of(Facts& facts) {
  using Reason = std::variant_alternative_t<I, rules::AnyReason>;
  const auto add = [&](const rules::Hold& hold) {
    const std::string code = rules::code_of(hold);
    const bool person = rules::clears(hold) == rules::Clears::by_person;
    const bool ends_pulse = rules::reach(hold) == rules::Reach::ends_pulse;
    facts["hold " + code] = fmt::format(
        "{} {}",
        person ? "Latched: a person at the station must release it." : "It ends by itself.",
        ends_pulse ? "It ends a pulse that runs." : "A pulse that runs goes on.");
  };
  if constexpr (std::is_same_v<Reason, rules::OwnerHold>) {
    using Why = rules::OwnerHold::Why;
    add(Reason{"NAME", "", Why::unknown});
    add(Reason{"NAME", "", Why::met});
  } else if constexpr (requires(Reason reason) { reason.role = rules::Role::ph; }) {
    using rules::Role;
    for (const Role role : {Role::ph, Role::second_ph, Role::temperature}) {
      Reason reason{};
      reason.role = role;
      add(reason);
    }
  } else if constexpr (requires(Reason reason) { reason.role = rules::OutletRole::pump; }) {
    for (const rules::OutletRole role : {rules::OutletRole::pump, rules::OutletRole::stirrer}) {
      add(Reason{role});
    }
  } else if constexpr (!std::is_same_v<Reason, rules::UnknownLatch>) {  // whatever it is called
    add(Reason{});
  }
}

std::string how_long(Duration span) {
  const auto minutes = std::chrono::duration_cast<std::chrono::minutes>(span).count();
  return minutes < 60 ? fmt::format("{} min", minutes) : fmt::format("{} h", minutes / 60);
}

const char* how_soon(alerts::Urgency urgency) {
  switch (urgency) {
    case alerts::Urgency::act_now:
      return "Act now";
    case alerts::Urgency::act_today:
      return "Act today";
    case alerts::Urgency::when_you_can:
      return "When you can";
  }
  return "";
}

const char* what_ends(alerts::Kind::Ends ends) {
  switch (ends) {
    case alerts::Kind::Ends::with_cause:
      return "ends with its cause";
    case alerts::Kind::Ends::when_seen:
      return "ends when it was seen";
    case alerts::Kind::Ends::by_release:
      return "ends by a release";
  }
  return "";
}

/// `other` is a description of the same device in another state: a format that differs there is no
/// fact.
void add_properties(const std::string& device, const nlohmann::json& described,
                    const nlohmann::json& other, Facts& facts) {
  for (const auto& [node, content] : described.at("nodes").items()) {
    for (const auto& [id, property] : content.at("properties").items()) {
      const std::string path = fmt::format("{}/{}", node, id);
      std::string type = property.at("datatype");
      if (property.contains("format") && property == other["nodes"][node]["properties"][id]) {
        type += " " + property["format"].get<std::string>();
      }
      if (property.contains("unit")) {
        type += ", " + property["unit"].get<std::string>();
      }
      const std::string name = property.at("name");
      facts[fmt::format("property {}/{}", device, path)] = fmt::format(
          "{} ({}).{}{}", name, type, property.value("settable", false) ? " It can be set." : "",
          property.value("retained", true) ? "" : " Never retained.");
    }
  }
}

}  // namespace

Facts facts_of_holds() {
  Facts facts;
  [&]<std::size_t... I>(std::index_sequence<I...>) { (add_holds_of<I>(facts), ...); }
  (std::make_index_sequence<std::variant_size_v<rules::AnyReason>>{});
  return facts;
}

Facts facts_of_alerts() {
  Facts facts;
  for (const alerts::Kind& kind : alerts::kinds()) {
    facts["alert " + std::string{kind.id}] =
        fmt::format("{}, within {}; {}. {} {}", how_soon(kind.urgency), how_long(kind.may_wait),
                    what_ends(kind.ends), kind.consequence, kind.action);
  }
  return facts;
}

Facts facts_of_properties() {
  Facts facts;
  station::Status status;
  status.day_volume_at_station = Millilitres{1000};
  station::Status other;
  other.day_volume_at_station = Millilitres{2000};
  add_properties("station", nlohmann::json::parse(mqtt::station_description("limegate", status)),
                 nlohmann::json::parse(mqtt::station_description("limegate", other)), facts);
  const auto root = nlohmann::json::parse(mqtt::root_description({}));
  add_properties("daemon", root, root, facts);
  return facts;
}

}  // namespace limegate::test
