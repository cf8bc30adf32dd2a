#include "station/owner_rules.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "rules/owner_sentence.h"
#include "units/time_of_day.h"

namespace limegate::station {
namespace {

using rules::OwnerMemory;
using rules::OwnerRulebook;

constexpr auto kHold = rules::OwnerRule::Effect::hold;
constexpr auto kAlert = rules::OwnerRule::Effect::alert;

bool begins_with(const std::string& text, const std::string& start) {
  return text.compare(0, start.size(), start) == 0;
}

rules::OwnerHold::Why why(const OwnerMemory& memory) {
  using Why = rules::OwnerHold::Why;
  return memory.latched                                  ? Why::latched
         : memory.stands == OwnerMemory::Stands::unknown ? Why::unknown
                                                         : Why::met;
}

/// Whether nothing is unknown but how far something that is heard has climbed.
bool only_watches(const rules::OwnerRule& rule, const std::vector<rules::Input>& inputs,
                  const rules::OwnerEvidence& seen, const OwnerMemory& memory) {
  if (rule.hours && !seen.time_of_day) {
    return false;
  }
  for (std::size_t i = 0; i < rule.comparisons.size(); ++i) {
    const rules::Comparison& comparison = rule.comparisons[i];
    const rules::InputKnown& known = seen.known[i];
    const bool heard =
        known.value && std::isfinite(*known.value) && rules::fresh(inputs[comparison.input], known);
    if (memory.found[i] == rules::Finding::unknown &&
        !(heard && std::holds_alternative<rules::ClimbsBy>(comparison.test))) {
      return false;
    }
  }
  return true;
}

bool looks_at(const rules::OwnerRule& rule, std::size_t input) {
  return std::any_of(rule.comparisons.begin(), rule.comparisons.end(),
                     [&](const rules::Comparison& one) { return one.input == input; });
}

/// The code of an alert that a rule raises.
std::string alert_code(const std::string& rule, OwnerMemory::Stands stands) {
  return rules::owner_code(rule) + (stands == OwnerMemory::Stands::unknown ? "-unknown" : "");
}

}  // namespace

OwnerRules::OwnerRules(const rules::OwnerRulebook& book, const std::vector<std::string>& latches,
                       Instant now)
    : inputs_(book.inputs), seen_(book.inputs.size(), Seen{std::nullopt, now}) {
  for (const rules::OwnerRule& rule : book.rules) {
    Followed followed{rule, rules::beginning_of(rule), {}};
    for (const rules::Comparison& comparison : rule.comparisons) {
      const auto* climb = std::get_if<rules::ClimbsBy>(&comparison.test);
      followed.climbs.push_back(
          climb == nullptr ? std::nullopt
                           : std::optional{Climbing{signal::Climb{climb->within}, climb->within}});
    }
    rules_.push_back(std::move(followed));
  }
  for (const std::string& code : latches) {
    if (!begins_with(code, rules::owner_code(""))) {
      continue;
    }
    const auto rule = std::find_if(rules_.begin(), rules_.end(), [&](const Followed& one) {
      return rules::owner_code(one.rule.name) == code && one.rule.effect == kHold &&
             one.rule.release == rules::Clears::by_person;
    });
    if (rule == rules_.end()) {
      forgotten_.push_back(code);
    } else {
      rule->memory.latched = rule->kept = true;
    }
  }
}

void OwnerRules::see(std::size_t input, Instant now, std::optional<double> value, Instant at) {
  // What makes no sense does not end a silence.
  const bool sense = value && std::isfinite(*value);
  const bool silent = now - seen_[input].at > inputs_[input].age_max;
  seen_[input] = {value, sense ? at : seen_[input].at};
  for (Followed& followed : rules_) {
    for (std::size_t i = 0; i < followed.climbs.size(); ++i) {
      auto& climbing = followed.climbs[i];
      if (climbing && followed.rule.comparisons[i].input == input && sense) {
        climbing->seen_since = silent ? now : climbing->seen_since.value_or(now);
        climbing->climb.learn(now, *value);
      }
    }
  }
}

double OwnerRules::Climbing::rise(Instant now, double value) const {
  return seen_since && now - *seen_since >= within ? climb.rise(now, value) : std::nan("");
}

void OwnerRules::see(std::size_t probe, Moment now, const signal::Reading& reading) {
  if (reading.reason == signal::Reason::missing) {
    return;
  }
  // A bad reading's value says nothing, however fresh it is.
  const bool usable = reading.quality != signal::Quality::bad;
  see(probe, now.mono, usable ? reading.value : std::nan(""), now.mono - reading.age);
}

std::vector<rules::InputShown> OwnerRules::inputs(Instant now) const {
  std::vector<rules::InputShown> all;
  for (std::size_t i = OwnerRulebook::kFirstOwn; i < inputs_.size(); ++i) {
    const rules::Input& input = inputs_[i];
    const Duration age = now - seen_[i].at;
    const auto& value = seen_[i].value;
    const bool known = value && std::isfinite(*value) && rules::fresh(input, {value, age});
    all.push_back({input.name, input.unit, input.kind, known ? value : std::nullopt, age});
  }
  return all;
}

std::optional<Duration> OwnerRules::hour(Moment now) const {
  // Asked for each second, and the machine's time zone takes its time.
  const bool wanted =
      now.wall_trusted && std::any_of(rules_.begin(), rules_.end(), [](const Followed& followed) {
        return followed.rule.hours.has_value();
      });
  return wanted ? std::optional{time_of_day(now.wall)} : std::nullopt;
}

void OwnerRules::look(Instant now, const std::optional<Duration>& hour, Followed& followed) const {
  rules::OwnerEvidence& evidence = followed.seen;
  evidence.now = now;
  evidence.time_of_day = hour;
  evidence.known.resize(followed.rule.comparisons.size());
  for (std::size_t i = 0; i < followed.rule.comparisons.size(); ++i) {
    const Seen& seen = seen_[followed.rule.comparisons[i].input];
    const auto& climb = followed.climbs[i];
    evidence.known[i] = {seen.value, now - seen.at,
                         climb && seen.value ? climb->rise(now, *seen.value) : 0.0};
  }
}

bool OwnerRules::take(Moment now, const InputSample& sample) {
  // Without an answer the last one grows old. pH and temperature never come this way.
  if (!sample.value || sample.input < OwnerRulebook::kFirstOwn || sample.input >= inputs_.size()) {
    return false;
  }
  const Instant at = sample.at.value_or(now.mono);
  see(sample.input, at, sample.value, at);
  bool closes = false;
  for (Followed& followed : rules_) {
    if (followed.rule.effect != kHold || !looks_at(followed.rule, sample.input)) {
      continue;
    }
    look(now.mono, hour(now), followed);
    OwnerMemory after = rules::follow(followed.rule, inputs_, followed.seen, followed.memory);
    // Between two steps a rule may only close; it opens at a step.
    const bool met = after.finding == rules::Finding::met && rules::stands(after);
    if (met) {
      followed.memory = std::move(after);
    }
    closes = closes || met;
  }
  return closes;
}

void OwnerRules::step(Moment now, const rules::Snapshot& known, rules::Holds& holds,
                      Effects& effects) {
  for (const std::string& code : std::exchange(forgotten_, {})) {
    effects.emplace_back(StoreLatch{code, StoreLatch::To::released});
    effects.emplace_back(Raise{
        {now.wall, Severity::warning, "rule-forgotten",
         "The hold " + code +
             " waited for a person, and the file has no such rule any more: it is forgotten."}});
  }
  if (rules_.empty()) {
    return;
  }
  see(OwnerRulebook::kPh, now,
      known.second_ph ? signal::higher_of(known.ph, *known.second_ph) : known.ph);
  see(OwnerRulebook::kTemperature, now, known.temperature);
  holds_.clear();
  const std::optional<Duration> by_the_clock = hour(now);
  for (Followed& followed : rules_) {
    look(now.mono, by_the_clock, followed);
    followed.memory =
        rules::follow(followed.rule, inputs_, followed.seen, std::move(followed.memory));
    if (followed.rule.effect == kAlert) {
      tell(now, followed, effects);
    } else if (rules::stands(followed.memory)) {
      keep_latch(followed, effects);
      holds_.emplace_back(rules::OwnerHold{
          followed.rule.name,
          rules::sentence_of(followed.rule, inputs_, followed.seen, followed.memory),
          why(followed.memory),
          only_watches(followed.rule, inputs_, followed.seen, followed.memory)});
    }
  }
  holds.insert(holds.end(), holds_.begin(), holds_.end());
}

void OwnerRules::keep_latch(Followed& followed, Effects& effects) {
  if (followed.memory.latched && !std::exchange(followed.kept, true)) {
    effects.emplace_back(
        StoreLatch{rules::owner_code(followed.rule.name), StoreLatch::To::latched});
  }
}

void OwnerRules::tell(Moment now, Followed& followed, Effects& effects) {
  using Stands = OwnerMemory::Stands;
  const Stands stands = followed.memory.stands;
  const Stands was = std::exchange(followed.told, stands);
  if (stands == was) {
    return;
  }
  const std::string& name = followed.rule.name;
  const auto lasts = [&](Stands what) {
    return what == Stands::unknown || followed.rule.release == rules::Clears::by_itself;
  };
  if (was != Stands::no) {
    const std::string code = alert_code(name, was);
    effects.emplace_back(Raise{{now.wall,
                                Severity::info,
                                "cleared-" + code,
                                "What the rule " + name + " called for is over.",
                                {},
                                lasts(was) ? code : ""}});
  }
  if (stands != Stands::no) {
    const std::string code = alert_code(name, stands);
    effects.emplace_back(
        Raise{{now.wall, Severity::alert, code,
               rules::sentence_of(followed.rule, inputs_, followed.seen, followed.memory),
               lasts(stands) ? code : ""}});
  }
}

std::vector<std::string> OwnerRules::latches() const {
  std::vector<std::string> codes;
  for (const Followed& followed : rules_) {
    if (followed.memory.latched) {
      codes.push_back(rules::owner_code(followed.rule.name));
    }
  }
  return codes;
}

std::optional<Answer> OwnerRules::release(const std::string& code, Effects& effects) {
  const auto found = std::find_if(rules_.begin(), rules_.end(), [&](const Followed& one) {
    return one.memory.latched && rules::owner_code(one.rule.name) == code;
  });
  if (found == rules_.end()) {
    return std::nullopt;
  }
  if (found->memory.finding != rules::Finding::clear) {
    return Answer{Answer::Verdict::refused,
                  "Its cause is not gone, or not known to be: look at the hold's sentence."};
  }
  found->memory.latched = found->kept = false;
  found->memory.stands = OwnerMemory::Stands::no;
  effects.emplace_back(StoreLatch{code, StoreLatch::To::released});
  return Answer{Answer::Verdict::accepted,
                "Released: " + code + ". If its cause comes again, so does the hold."};
}

}  // namespace limegate::station
