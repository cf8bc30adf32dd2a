#include "app/leaving.h"

#include <algorithm>
#include <chrono>
#include <utility>

#include <fmt/format.h>

#include "alerts/verdict.h"
#include "care/upkeep.h"
#include "rules/hold.h"
#include "units/rfc3339.h"

namespace limegate::app {
namespace {

using nlohmann::json;

/// An alkalinity that is older says little of how the tank is left (ours; weekly tests are common
/// practice).
constexpr double kTestedWithinDays = 7.0;

double days_of(Duration duration) { return in_seconds(duration) / 86400.0; }

std::string about_powder(const json& powder, double days, double share) {
  if (!powder.is_object()) {
    return "Nobody knows how much powder is left: limegate record powder, once you have refilled "
           "it.";
  }
  const json& lasts = powder.value("days", json());
  if (!lasts.is_array() || lasts.size() != 2 || !lasts[0].is_number() || !(share > 0.0)) {
    return "";
  }
  const double least = lasts[0].get<double>() / share;
  return least < days ? fmt::format("The powder may be spent after {:.0f} days: refill it.", least)
                      : "";
}

std::string about_tests(const json& status) {
  const json& tested = status.value("alkalinity", json());
  const auto at = tested.is_object() ? parse_rfc3339(tested.value("time", std::string{}))
                                     : std::optional<WallTime>{};
  const auto now = parse_rfc3339(status.value("time", std::string{}));
  if (!at || !now) {
    return "No alkalinity is in the book: test it before you leave.";
  }
  const double days = days_of(*now - *at);
  return days > kTestedWithinDays
             ? fmt::format("The alkalinity was tested {:.0f} days ago: test it before you leave.",
                           days)
             : "";
}

/// What is due, or will be before the return. Powder has a sentence of its own.
void add_upkeep(const json& items, Duration lasting, std::vector<std::string>& sentences) {
  const double seconds = in_seconds(lasting);
  for (const json& item : items) {
    const bool powder = item.value("chore", std::string{}) == name_of(care::Chore::refill);
    const bool due = item.value("state", std::string{}) == name_of(care::UpkeepItem::State::due);
    const json& in = item.value("due_s", json());
    if (!powder && (due || (in.is_number() && in.get<double>() < seconds))) {
      sentences.push_back(item.value("sentence", std::string{}));
    }
  }
}

/// Whether something holds dosing that is not part of each cycle of stirring and settling.
bool holds_beyond_a_cycle(const json& status) {
  const auto passes = {rules::code_of(rules::StirrerRunning{}), rules::code_of(rules::Settling{})};
  const json holds = status.value("holds", json::array());
  return std::any_of(holds.begin(), holds.end(), [&](const json& hold) {
    return std::find(passes.begin(), passes.end(), hold.value("code", std::string{})) ==
           passes.end();
  });
}

}  // namespace

std::vector<std::string> before_leaving(const json& status, Duration lasting, double share,
                                        std::size_t ways) {
  std::vector<std::string> sentences;
  const json verdict = status.value("verdict", json::object());
  const std::string standing = verdict.value("standing", std::string{});
  if (standing == name_of(alerts::Verdict::Standing::held)
          ? holds_beyond_a_cycle(status)
          : standing != name_of(alerts::Verdict::Standing::well)) {
    sentences.push_back(verdict.value("sentence", std::string{}));
  }
  for (std::string sentence :
       {about_powder(status.value("powder", json()), days_of(lasting), share),
        about_tests(status)}) {
    if (!sentence.empty()) {
      sentences.push_back(std::move(sentence));
    }
  }
  add_upkeep(status.value("upkeep", json::array()), lasting, sentences);
  if (ways == 0) {
    sentences.emplace_back(
        "No alert would reach you: the file names no destination (limegate help config).");
  }
  return sentences;
}

}  // namespace limegate::app
