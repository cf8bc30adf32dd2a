#include "rules/owner_sentence.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "units/plain_number.h"
#include "units/visitor.h"

namespace limegate::rules {
namespace {

/// A number in an input's unit.
std::string number(const Input& input, double value) {
  return fmt::format("{}{}{}", plain_number(value, 6), input.unit.empty() ? "" : " ", input.unit);
}

/// When a comparison is met: "is above 18 cm".
std::string condition(const Comparison& comparison, const Input& input) {
  return std::visit(
      Visitor{
          [&](const Is& is) {
            return fmt::format("{} is {}", input.name, is.state == Is::State::on ? "on" : "off");
          },
          [&](const Above& above) {
            return fmt::format("{} is above {}", input.name, number(input, above.limit));
          },
          [&](const Below& below) {
            return fmt::format("{} is below {}", input.name, number(input, below.limit));
          },
          [&](const Outside& range) {
            return fmt::format("{} is outside {} to {}", input.name, plain_number(range.low, 6),
                               number(input, range.high));
          },
          [&](const ClimbsBy& climb) {
            return fmt::format("{} climbs by {} or more within {}", input.name,
                               number(input, climb.rise), for_people(climb.within));
          },
          [&](const Silent&) {
            return fmt::format("nothing is known of {} for longer than {}", input.name,
                               for_people(input.age_max));
          },
      },
      comparison.test);
}

/// When it is over again, where it has a slack: "it is 17 cm or less".
std::string over(const Comparison& comparison, const Input& input) {
  const double slack = comparison.slack;
  return std::visit(
      Visitor{
          [&](const Above& above) {
            return fmt::format("it is {} or less", number(input, above.limit - slack));
          },
          [&](const Below& below) {
            return fmt::format("it is {} or more", number(input, below.limit + slack));
          },
          [&](const Outside& range) {
            return fmt::format("it is within {} to {}", plain_number(range.low + slack, 6),
                               number(input, range.high - slack));
          },
          [&](const ClimbsBy& climb) {
            return fmt::format("that is less than {}", number(input, climb.rise - slack));
          },
          [](const auto& /*has no slack*/) { return std::string{}; },
      },
      comparison.test);
}

/// What is the case now: "level is 19 cm (above 18 cm)".
std::string fact(const Comparison& comparison, const Input& input, const InputKnown& known,
                 Finding found) {
  const bool silent = std::holds_alternative<Silent>(comparison.test);
  if (silent || find(comparison, input, known, Finding::met) == Finding::unknown) {
    return fmt::format("nothing is known of {}", input.name);
  }
  const auto* climb = std::get_if<ClimbsBy>(&comparison.test);
  const std::string shown =
      climb == nullptr ? fmt::format("{} is {}", input.name, value_for_people(input, *known.value))
                       : fmt::format("{} climbed by {} within {}", input.name,
                                     number(input, known.rise), for_people(climb->within));
  // Within the slack it is neither met by itself nor clear.
  if (find(comparison, input, known, Finding::clear) == Finding::clear) {
    return found == Finding::clear
               ? shown
               : fmt::format("{}, and it goes on until {}", shown, over(comparison, input));
  }
  const auto limit =
      std::visit(Visitor{
                     [&](const Above& above) { return "above " + number(input, above.limit); },
                     [&](const Below& below) { return "below " + number(input, below.limit); },
                     [&](const Outside& range) {
                       return fmt::format("outside {} to {}", plain_number(range.low, 6),
                                          number(input, range.high));
                     },
                     [&](const ClimbsBy& by) { return number(input, by.rise) + " or more"; },
                     [](const auto& /*says it all*/) { return std::string{}; },
                 },
                 comparison.test);
  return limit.empty() ? shown : fmt::format("{} ({})", shown, limit);
}

std::string facts(const OwnerRule& rule, const std::vector<Input>& inputs,
                  const OwnerEvidence& evidence, const OwnerMemory& memory) {
  std::vector<std::string> all;
  for (std::size_t i = 0; i < rule.comparisons.size(); ++i) {
    if (memory.found[i] == memory.finding) {
      const Comparison& comparison = rule.comparisons[i];
      all.push_back(fact(comparison, inputs[comparison.input], evidence.known[i], memory.found[i]));
    }
  }
  if (memory.finding == Finding::unknown && rule.hours && !evidence.time_of_day) {
    all.emplace_back(
        "the hour is not known, for this machine's clock was not set since it started");
  }
  if (all.empty() && rule.hours) {
    return "it is in the hours from " + for_people(*rule.hours);
  }
  return fmt::format("{}", fmt::join(all, " and "));
}

std::string condition(const OwnerRule& rule, const std::vector<Input>& inputs) {
  std::vector<std::string> parts;
  for (const Comparison& comparison : rule.comparisons) {
    const Input& input = inputs[comparison.input];
    parts.push_back(condition(comparison, input));
    if (const std::string until = over(comparison, input); comparison.slack > 0 && !until.empty()) {
      parts.back() += fmt::format(" (until {})", until);
    }
  }
  return fmt::format("{}", fmt::join(parts, rule.join == OwnerRule::Join::all ? " and " : " or "));
}

/// What becomes of the unknown: "or at once when nothing is known of it".
std::string of_the_unknown(const OwnerRule& rule, const std::vector<Input>& inputs) {
  // Of hours alone there is nothing to know.
  const bool silence_only =
      std::all_of(rule.comparisons.begin(), rule.comparisons.end(),
                  [](const Comparison& one) { return std::holds_alternative<Silent>(one.test); });
  if (silence_only) {
    return "";
  }
  const char* const whom = rule.comparisons.size() == 1 ? "it" : "them";
  return rule.effect == OwnerRule::Effect::hold
             ? fmt::format(", or at once when nothing is known of {}", whom)
             : fmt::format(", or when nothing is known of {} for {}", whom,
                           for_people(unknown_for(rule, inputs)));
}

std::string release(const OwnerRule& rule) {
  const bool by_itself = rule.release == Clears::by_itself;
  if (rule.effect == OwnerRule::Effect::hold && !by_itself) {
    return "once it was met, until a person at the station releases it";
  }
  if (!by_itself) {
    return "the alert stays until a person has seen it";
  }
  const char* const what =
      rule.effect == OwnerRule::Effect::hold ? "dosing may go on" : "the alert ends";
  return rule.release_after > Duration::zero() ? fmt::format("{} once that has been over for {}",
                                                             what, for_people(rule.release_after))
                                               : fmt::format("{} as soon as that is over", what);
}

}  // namespace

std::string value_for_people(const Input& input, double value) {
  if (input.kind == Input::Kind::digital) {
    return value > 0.5 ? "on" : "off";
  }
  return number(input, value);
}

std::string sentence_of(const OwnerRule& rule, const std::vector<Input>& inputs) {
  const bool holds = rule.effect == OwnerRule::Effect::hold;
  std::string text = holds ? "Hold dosing" : "Call a person";
  if (rule.hours) {
    text =
        fmt::format("From {} {}", for_people(*rule.hours), holds ? "hold dosing" : "call a person");
  }
  if (!rule.comparisons.empty()) {
    text += " when " + condition(rule, inputs);
  }
  if (rule.lasting > Duration::zero()) {
    const bool silence =
        std::any_of(rule.comparisons.begin(), rule.comparisons.end(),
                    [](const Comparison& one) { return std::holds_alternative<Silent>(one.test); });
    text += (silence ? ", and that for " : " for ") + for_people(rule.lasting);
  }
  return text + of_the_unknown(rule, inputs) + "; " + release(rule) + ".";
}

std::string sentence_of(const OwnerRule& rule, const std::vector<Input>& inputs,
                        const OwnerEvidence& evidence, const OwnerMemory& memory) {
  const bool person = memory.latched;
  // The owner's words speak of what is met, not of what is unknown or over.
  const bool met = person || memory.finding == Finding::met;
  std::string text = met && !rule.says.empty() ? rule.says + " " : "";
  if (memory.finding != Finding::clear) {
    text += fmt::format("The rule {} {}: {}.", rule.name,
                        rule.effect == OwnerRule::Effect::hold ? "holds" : "calls",
                        facts(rule, inputs, evidence, memory));
    return person ? text + " When that is over a person at the station must release it." : text;
  }
  if (person) {
    return text + fmt::format(
                      "The rule {} was met, and that is over: a person at the station must "
                      "release this hold.",
                      rule.name);
  }
  const Duration calm = memory.clear_since ? evidence.now - *memory.clear_since : Duration::zero();
  return text + fmt::format("The rule {} holds for another {}, to see that it is over.", rule.name,
                            for_people(std::max(rule.release_after - calm, Duration::zero())));
}

}  // namespace limegate::rules
