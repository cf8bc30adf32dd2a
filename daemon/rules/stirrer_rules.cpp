// What a stirrer that runs, or of which too little is known, holds.

#include <cstdlib>

#include <fmt/format.h>

#include "rules/families.h"
#include "rules/hold_row.h"

namespace limegate::rules {
constinit const Rows<StirrerHold> kStirrerRows{
    HoldRow<StirrerRunning>{"stirrer-running", Clears::by_itself, Reach::ends_pulse,
                            Person::not_needed, Teaches::yes, Flow::as_commanded, kNotRemembered,
                            kNoCondition, kNoKey, "The stirrer runs: the limewater is milky."},

    HoldRow<StirrerUnknown>{"stirrer-unknown", Clears::by_itself, Reach::ends_pulse,
                            Person::if_it_lasts, Teaches::yes, Flow::as_commanded, kNotRemembered,
                            kNoCondition, kNoKey,
                            "The stirrer is not known to rest, so the limewater may be milky."},

    HoldRow<StirOverdue>{
        "stir-overdue", Clears::by_itself, Reach::ends_pulse, Person::if_it_lasts, Teaches::yes,
        Flow::as_commanded, kNotRemembered, kNoCondition, "stirrer.every_min",
        "The stirrer was not seen to run for more than two of its cycles: it stands still, "
        "or its input sticks and it may be running. Look at the stirrer and its input."},

    HoldRow<StirEndless>{
        "stir-endless", Clears::by_itself, Reach::ends_pulse, Person::if_it_lasts, Teaches::yes,
        Flow::as_commanded, kNotRemembered, kNoCondition, "stirrer.every_min",
        "The stirrer has been seen running for longer than a whole cycle: its timer does "
        "not end it, or its input sticks. Look at the stirrer and its input."},

    HoldRow<Settling>{"settling", Clears::by_itself, Reach::ends_pulse, Person::not_needed,
                      Teaches::yes, Flow::as_commanded, kNotRemembered, kNoCondition,
                      "limits.settle_min", [](const Settling& h) {
                        return fmt::format("The limewater settles after stirring: clear in {}.",
                                           for_people(h.remaining));
                      }}};

void judge_stirrer(Instant now, const Snapshot& known, const Limits& limits, Holds& holds) {
  switch (known.stirrer.rhythm) {
    case StirrerKnown::Rhythm::kept:
      break;
    case StirrerKnown::Rhythm::overdue:
      holds.emplace_back(StirOverdue{});
      break;
    case StirrerKnown::Rhythm::endless:
      holds.emplace_back(StirEndless{});
      break;
  }
  switch (known.stirrer.state) {
    case StirrerKnown::State::running:
      holds.emplace_back(StirrerRunning{});
      return;
    case StirrerKnown::State::unknown:
      holds.emplace_back(StirrerUnknown{});
      return;
    case StirrerKnown::State::resting: {
      const Duration rested = now - known.stirrer.rested_since;
      if (!(rested >= limits.settle)) {
        holds.emplace_back(Settling{limits.settle - rested});
      }
      return;
    }
  }
  std::abort();
}

const char* name_of(StirrerKnown::State state) {
  switch (state) {
    case StirrerKnown::State::running:
      return "running";
    case StirrerKnown::State::unknown:
      return "unknown";
    case StirrerKnown::State::resting:
      return "resting";
  }
  std::abort();
}

}  // namespace limegate::rules
