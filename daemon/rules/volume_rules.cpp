// How much may be given: by chemistry, within an hour, within a day, by the keeper.

#include <cmath>

#include <fmt/format.h>

#include "rules/families.h"
#include "rules/hold_row.h"

namespace limegate::rules {
namespace {

std::string spent(const char* when, Millilitres given, Millilitres next, Millilitres limit) {
  if (given >= kCountsAsFull) {
    return fmt::format("The record of {} is missing or damaged, so it counts as full.", when);
  }
  return fmt::format(
      "{:.1f} mL were given in {}; the next {:.1f} mL would pass the allowance of {:.1f} mL.",
      given.count(), when, next.count(), limit.count());
}

}  // namespace

constinit const Rows<VolumeHold> kVolumeRows{
    HoldRow<TimerStepTooLong>{
        "timer-step-too-long", Clears::by_itself, Reach::before_pulse, Person::not_needed,
        Teaches::yes, Flow::as_commanded, kNotRemembered, kNoCondition, "plan.max_pulse_rise_ph",
        [](const TimerStepTooLong& h) {
          return fmt::format(
              "A step of the board's timer gives {:.1f} mL, and at its present pH the water "
              "bears {:.1f} mL. Use a slower pump or a finer timer.",
              h.step.count(), h.bearable.count());
        }},

    HoldRow<HourAllowanceSpent>{"hour-allowance-spent", Clears::by_itself, Reach::before_pulse,
                                Person::not_needed, Teaches::yes, Flow::as_commanded,
                                kNotRemembered, kNoCondition, "limits.max_hour_ml",
                                [](const HourAllowanceSpent& h) {
                                  return spent("the last hour", h.given, h.next, h.limit);
                                }},

    HoldRow<DayAllowanceSpent>{"day-allowance-spent", Clears::by_itself, Reach::before_pulse,
                               Person::not_needed, Teaches::yes, Flow::as_commanded, kNotRemembered,
                               kNoCondition, "limits.max_day_ml",
                               [](const DayAllowanceSpent& h) {
                                 return spent("the last 24 h", h.given, h.next, h.limit);
                               }},

    HoldRow<Paused>{
        "paused", Clears::by_itself, Reach::ends_pulse, Person::not_needed, Teaches::yes,
        Flow::as_commanded, kNotRemembered, kNoCondition, kNoKey, [](const Paused& h) {
          return fmt::format("Paused by the keeper for another {}.", for_people(h.remaining));
        }}};

void judge_allowance(const Snapshot& known, const Limits& limits, Holds& holds) {
  // Sums of many doses carry rounding in the last bits; a thousandth of a millilitre is no dose.
  constexpr Millilitres rounding{0.001};
  const auto fits = [&](Millilitres given, Millilitres limit) {
    const Millilitres sum = given + known.next_pulse;
    return std::isfinite(sum.count()) && sum <= limit + rounding;
  };
  if (const Millilitres bearable =
          volume_within(limits.pulse_rise, known.rise_per_ml, known.least_pulse);
      !(known.least_pulse <= bearable)) {
    holds.emplace_back(TimerStepTooLong{known.least_pulse, bearable});
  }
  const Millilitres hour = volume_within(limits.hour_rise, known.rise_per_ml, limits.hour);
  if (!fits(known.given_hour, hour)) {
    holds.emplace_back(HourAllowanceSpent{known.given_hour, known.next_pulse, hour});
  }
  const auto& in_force = known.day_in_force;  // not a number holds
  const Millilitres day = in_force && !(*in_force >= limits.day) ? *in_force : limits.day;
  if (!fits(known.given_day, day)) {
    holds.emplace_back(DayAllowanceSpent{known.given_day, known.next_pulse, day});
  }
}

Millilitres volume_within(PhChange rise, const std::optional<PhChange>& per_ml, Millilitres limit) {
  if (!per_ml) {
    return limit;
  }
  const Millilitres fits{rise / *per_ml};
  if (!(*per_ml > PhChange{0.0}) || !(fits > Millilitres{0.0})) {
    return Millilitres{0.0};
  }
  return fits < limit ? fits : limit;
}

void judge_pause(Instant now, const Snapshot& known, Holds& holds) {
  if (known.paused_until && now < *known.paused_until) {
    holds.emplace_back(Paused{*known.paused_until - now});
  }
}

}  // namespace limegate::rules
