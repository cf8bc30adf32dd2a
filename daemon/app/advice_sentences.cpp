#include "app/advice_sentences.h"

#include <algorithm>

#include <fmt/format.h>

namespace limegate::app {

std::string advice_on_volume(Millilitres given, Millilitres planned,
                             const std::map<std::string, Duration>& held) {
  if (!(given < planned * kMostOfPlan)) {
    return {};
  }
  std::string longest;
  Duration lasting{};
  for (const auto& [code, held_for] : held) {
    // Stirring and settling belong to the plan.
    if (code != "stirrer-running" && code != "settling" && held_for > lasting) {
      longest = code;
      lasting = held_for;
    }
  }
  return fmt::format("Less than 90 % of the plan was given: {}.",
                     longest.empty()
                         ? "look at pump and reactor"
                         : fmt::format("the longest hold was {0}, see limegate help {0}", longest));
}

std::string passed_ceiling(Ph ceiling) {
  return fmt::format("pH passed the ceiling of {:.2f}", ceiling.count());
}

std::string advice_on_ceiling(Ph ceiling) {
  return passed_ceiling(ceiling) + ". Give less a day (day_volume_ml).";
}

}  // namespace limegate::app
