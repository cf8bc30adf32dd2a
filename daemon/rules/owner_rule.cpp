#include "rules/owner_rule.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "units/visitor.h"

namespace limegate::rules {
namespace {

/// Written so that whatever does not compare is neither met nor clear.
Finding found(bool met, bool clear, Finding before) {
  if (met) {
    return Finding::met;
  }
  return clear ? Finding::clear : before;
}

Finding compared(const Test& test, double slack, const InputKnown& known, Finding before) {
  const double value = *known.value;
  return std::visit(
      Visitor{
          [&](const Is& is) {
            const double wanted = is.state == Is::State::on ? 1.0 : 0.0;
            return found(value == wanted, value == 1.0 - wanted, Finding::unknown);
          },
          [&](const Above& above) {
            return found(value > above.limit, value <= above.limit - slack, before);
          },
          [&](const Below& below) {
            return found(value < below.limit, value >= below.limit + slack, before);
          },
          [&](const Outside& range) {
            return found(value < range.low || value > range.high,
                         value >= range.low + slack && value <= range.high - slack, before);
          },
          [&](const ClimbsBy& climb) {
            if (!std::isfinite(known.rise)) {
              return Finding::unknown;
            }
            return found(known.rise >= climb.rise, known.rise < climb.rise - slack, before);
          },
          [&](const Silent&) { return Finding::clear; },
      },
      test);
}

Finding joined(const OwnerRule& rule, const std::vector<Finding>& findings) {
  const bool all = rule.join == OwnerRule::Join::all;
  const Finding decides = all ? Finding::clear : Finding::met;
  const auto has = [&](Finding one) {
    return std::find(findings.begin(), findings.end(), one) != findings.end();
  };
  if (has(decides)) {
    return decides;
  }
  if (has(Finding::unknown)) {
    return Finding::unknown;
  }
  return all ? Finding::met : Finding::clear;
}

Finding within_hours(const OwnerRule& rule, const OwnerEvidence& evidence) {
  if (!rule.hours) {
    return Finding::met;
  }
  if (!evidence.time_of_day) {
    return Finding::unknown;
  }
  return rule.hours->contains(*evidence.time_of_day) ? Finding::met : Finding::clear;
}

bool lasted(const std::optional<Instant>& since, Duration lasting, Instant now) {
  return since && now - *since >= lasting;
}

void note(std::optional<Instant>& since, Instant now) { since = since.value_or(now); }

}  // namespace

Duration unknown_for(const OwnerRule& rule, const std::vector<Input>& inputs) {
  Duration longest = rule.lasting;
  for (const Comparison& comparison : rule.comparisons) {
    longest = std::max(longest, inputs[comparison.input].age_max);
  }
  return longest;
}

OwnerMemory beginning_of(const OwnerRule& rule) {
  OwnerMemory memory;
  memory.found.assign(rule.comparisons.size(), Finding::unknown);
  memory.comparisons = memory.found;
  // The hours are known at once, also those before the start.
  if (rule.effect == OwnerRule::Effect::hold && !rule.comparisons.empty()) {
    memory.stands = OwnerMemory::Stands::unknown;
  }
  return memory;
}

bool fresh(const Input& input, const InputKnown& known) {
  return known.age >= Duration::zero() && known.age <= input.age_max;
}

Finding find(const Comparison& comparison, const Input& input, const InputKnown& known,
             Finding before) {
  const bool silent = std::holds_alternative<Silent>(comparison.test);
  if (fresh(input, known) && !known.value) {
    return Finding::unknown;  // it has had no time to say anything since the start
  }
  if (!fresh(input, known)) {
    return silent ? Finding::met : Finding::unknown;
  }
  if (!std::isfinite(*known.value)) {
    return silent ? Finding::clear : Finding::unknown;
  }
  return compared(comparison.test, comparison.slack, known, before);
}

OwnerMemory follow(const OwnerRule& rule, const std::vector<Input>& inputs,
                   const OwnerEvidence& evidence, OwnerMemory memory) {
  for (std::size_t i = 0; i < rule.comparisons.size(); ++i) {
    const Comparison& comparison = rule.comparisons[i];
    Finding& of = memory.comparisons[i];
    // What was met stays so through the unknown, until it is seen to be clear; what was clear may
    // have been met meanwhile.
    const Finding now = find(comparison, inputs[comparison.input], evidence.known[i], of);
    memory.found[i] = now;
    of = now == Finding::unknown && of == Finding::met ? Finding::met : now;
  }
  const Finding of_hours = within_hours(rule, evidence);
  const Finding of_all = joined(rule, memory.found);
  memory.finding = of_hours == Finding::met || of_all == Finding::clear ? of_all : of_hours;

  using Stands = OwnerMemory::Stands;
  const Instant now = evidence.now;
  const bool holds = rule.effect == OwnerRule::Effect::hold;
  if (memory.finding == Finding::clear) {
    memory.met_since.reset();
    memory.unknown_since.reset();
    note(memory.clear_since, now);
    const bool released = lasted(memory.clear_since, rule.release_after, now);
    // A hold for the unknown takes its time too: nobody knows what was. An alert was for that
    // alone.
    if (released || (!holds && memory.stands == Stands::unknown)) {
      memory.stands = Stands::no;
    } else if (memory.stands == Stands::unknown) {
      memory.stands = Stands::met;
    }
    return memory;
  }
  memory.clear_since.reset();
  if (memory.finding == Finding::unknown) {
    note(memory.unknown_since, now);
    memory.met_since.reset();  // it must be seen to be met for so long
    if (holds || lasted(memory.unknown_since, unknown_for(rule, inputs), now)) {
      memory.stands = Stands::unknown;
    }
    return memory;
  }
  note(memory.met_since, now);
  memory.unknown_since.reset();
  if (holds && memory.stands == Stands::unknown) {
    memory.stands = Stands::met;  // it stands already, and now it is known why
  }
  if (lasted(memory.met_since, rule.lasting, now)) {
    memory.stands = Stands::met;
    memory.latched = memory.latched || (holds && rule.release == Clears::by_person);
  }
  return memory;
}

}  // namespace limegate::rules
