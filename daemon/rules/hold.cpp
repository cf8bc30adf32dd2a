#include "rules/hold.h"

#include <cstdlib>

#include <fmt/format.h>

#include "rules/limits.h"
#include "rules/snapshot.h"
#include "units/visitor.h"

namespace limegate::rules {
namespace {

template <class... Kinds>
bool is_one_of(const Hold& hold) {
  return (std::holds_alternative<Kinds>(hold) || ...);
}

const char* either(Role role, const char* ph, const char* second_ph, const char* temperature) {
  switch (role) {
    case Role::ph:
      return ph;
    case Role::second_ph:
      return second_ph;
    case Role::temperature:
      return temperature;
  }
  std::abort();
}
const char* probe(Role role) {
  return either(role, "the pH probe", "the second pH probe", "the temperature probe");
}
const char* first_probe(Role role) {
  return either(role, "The pH probe", "The second pH probe", "The temperature probe");
}
const char* outlet(OutletRole role) { return role == OutletRole::pump ? "pump" : "stirrer"; }

std::string number(Role role, double value) {
  return role == Role::temperature ? temperature_for_people(value)
                                   : fmt::format("pH {:.2f}", value);
}

std::string spent(const char* when, Millilitres given, Millilitres next, Millilitres limit) {
  if (given >= kCountsAsFull) {
    return fmt::format("The record of {} is missing or damaged, so it counts as full.", when);
  }
  return fmt::format(
      "{:.1f} mL were given in {}; the next {:.1f} mL would pass the allowance of {:.1f} mL.",
      given.count(), when, next.count(), limit.count());
}

/// A value that was never read since the start is no number.
std::string now_or_unknown(const std::optional<Ph>& value) {
  return value ? fmt::format("{:.2f}", value->count()) : "not known now";
}
std::string over(const UnusualClimb& h) {
  return h.pace == signal::Pace::quick
             ? fmt::format("beyond {:.2f} an hour", h.allowance_per_h.count())
         : h.pace == signal::Pace::slow ? "within " + for_people(signal::JoinedClimb::kWindow)
                                        : "above the mean of two days";
}

std::string amount(const std::optional<PhChange>& change) {
  return change ? fmt::format("{:.2f}", change->count()) : "an unknown amount";
}

}  // namespace

std::string owner_code(const std::string& rule) { return "rule-" + rule; }

// One lambda a reason: the compiler keeps the list complete, and splitting it would only hide it.
// NOLINTNEXTLINE(readability-function-size)
std::string code_of(const Hold& hold) {
  return std::visit<std::string>(
      Visitor{
          [](const StirrerRunning&) { return "stirrer-running"; },
          [](const StirrerUnknown&) { return "stirrer-unknown"; },
          [](const StirOverdue&) { return "stir-overdue"; },
          [](const StirEndless&) { return "stir-endless"; },
          [](const Settling&) { return "settling"; },
          [](const ProbeMissing& h) {
            return either(h.role, "ph-missing", "second-ph-missing", "temperature-missing");
          },
          [](const ProbeStale& h) {
            return either(h.role, "ph-stale", "second-ph-stale", "temperature-stale");
          },
          [](const ProbeNotANumber& h) {
            return either(h.role, "ph-not-a-number", "second-ph-not-a-number",
                          "temperature-not-a-number");
          },
          [](const ProbeImplausible& h) {
            return either(h.role, "ph-implausible", "second-ph-implausible",
                          "temperature-implausible");
          },
          [](const ProbeStuck& h) {
            return either(h.role, "ph-stuck", "second-ph-stuck", "temperature-stuck");
          },
          [](const ProbeUnsteady& h) {
            return either(h.role, "ph-unsteady", "second-ph-unsteady", "temperature-unsteady");
          },
          [](const ProbeDisturbed&) { return "ph-disturbed"; },
          [](const ProbesDisagree&) { return "ph-probes-disagree"; },
          [](const NotYetProven&) { return "not-yet-proven"; },
          [](const CeilingReached&) { return "ph-ceiling"; },
          [](const SecondCeilingReached&) { return "ph-second-ceiling"; },
          [](const Climbing&) { return "ph-climbing"; },
          [](const ClimbUnknown&) { return "ph-climb-unknown"; },
          [](const UnusualClimb&) { return "ph-unusual-climb"; },
          [](const ClimbGoesOn&) { return "ph-climb-goes-on"; },
          [](const Risen&) { return "ph-risen"; },
          [](const EffectTooLarge&) { return "effect-too-large"; },
          [](const TimerStepTooLong&) { return "timer-step-too-long"; },
          [](const HourAllowanceSpent&) { return "hour-allowance-spent"; },
          [](const DayAllowanceSpent&) { return "day-allowance-spent"; },
          [](const Paused&) { return "paused"; },
          [](const LedgerNotWritable&) { return "ledger-not-writable"; },
          [](const DiskSlow&) { return "disk-slow"; },
          [](const OutletUnconfirmed& h) {
            return h.role == OutletRole::pump ? "pump-unconfirmed" : "stirrer-unconfirmed";
          },
          [](const OutletStuckOn& h) {
            return h.role == OutletRole::pump ? "pump-stuck-on" : "stirrer-stuck-on";
          },
          [](const OutletFoundOn& h) {
            return h.role == OutletRole::pump ? "pump-found-on" : "stirrer-found-on";
          },
          [](const PumpTimerFailed&) { return "pump-timer-failed"; },
          [](const SwitchedOff&) { return "switched-off"; },
          [](const RecordLost&) { return "record"; },
          [](const UnknownLatch& h) { return h.code; },
          [](const OwnerHold& h) {
            return owner_code(h.rule) + (h.why == OwnerHold::Why::unknown ? "-unknown" : "");
          },
      },
      hold);
}

// NOLINTNEXTLINE(readability-function-size): the same
std::string sentence_of(const Hold& hold) {
  return std::visit(
      Visitor{
          [](const StirrerRunning&) {
            return std::string{"The stirrer runs: the limewater is milky."};
          },
          [](const StirrerUnknown&) {
            return std::string{"The stirrer is not known to rest, so the limewater may be milky."};
          },
          [](const StirOverdue&) {
            return std::string{
                "The stirrer was not seen to run for more than two of its cycles: it stands still, "
                "or its input sticks and it may be running. Look at the stirrer and its input."};
          },
          [](const StirEndless&) {
            return std::string{
                "The stirrer has been seen running for longer than a whole cycle: its timer does "
                "not end it, or its input sticks. Look at the stirrer and its input."};
          },
          [](const Settling& h) {
            return fmt::format("The limewater settles after stirring: clear in {}.",
                               for_people(h.remaining));
          },
          [](const ProbeMissing& h) {
            return fmt::format("No reading yet from {}. Check its cable, unit and address.",
                               probe(h.role));
          },
          [](const ProbeStale& h) {
            return fmt::format(
                "The newest reading of {} is {} old; at most {} is allowed. Check the bus and the "
                "probe's power.",
                probe(h.role), for_people(h.age), for_people(h.limit));
          },
          [](const ProbeNotANumber& h) {
            return fmt::format("{} answers with something that is not a number.",
                               first_probe(h.role));
          },
          [](const ProbeImplausible& h) {
            return fmt::format("{} shows {}, outside the plausible {} to {}.", first_probe(h.role),
                               number(h.role, h.value), number(h.role, h.low),
                               number(h.role, h.high));
          },
          [](const ProbeStuck& h) {
            return fmt::format("{} has shown {} without any change for {}: it may be stuck.",
                               first_probe(h.role), number(h.role, h.value), for_people(h.lasting));
          },
          [](const ProbeUnsteady& h) {
            return fmt::format("{} jumped lately: it must be steady for another {}.",
                               first_probe(h.role), for_people(h.remaining));
          },
          [](const ProbeDisturbed& h) {
            return fmt::format("The pH probe is left to calm down after a pulse or a stir: {}.",
                               for_people(h.remaining));
          },
          [](const ProbesDisagree& h) {
            return fmt::format(
                "The pH probes disagree: {:.2f} and {:.2f}; a difference below {:.2f} is allowed, "
                "or "
                "one below {:.2f} for less than {}. Clean and calibrate both.",
                h.first.count(), h.second.count(), h.limit.count(),
                h.limit.count() * kDisagreesAtOnce, for_people(h.lasting));
          },
          [](const NotYetProven& h) {
            return fmt::format(
                "The probes prove themselves after the start: good readings for "
                "another {}.",
                for_people(h.remaining));
          },
          [](const CeilingReached& h) {
            return fmt::format(
                "The pH reached the ceiling of {:.2f} and is {}; dosing resumes below {:.2f}.",
                h.limit.count(), now_or_unknown(h.value), h.resume.count());
          },
          [](const SecondCeilingReached& h) {
            return fmt::format(
                "The pH reached the second ceiling of {:.2f} and is {}. Find the cause; "
                "a person at the station must release this hold.",
                h.limit.count(), now_or_unknown(h.value));
          },
          [](const Climbing& h) {
            return fmt::format(
                "The pH climbed too quickly: now by {} within {}; less than {:.2f} is allowed, and "
                "dosing resumes below two thirds of that.",
                amount(h.rise), for_people(h.window), h.limit.count());
          },
          [](const ClimbUnknown& h) {
            return fmt::format(
                "How far the pH climbed within {} is not known: nobody watched it. It will be in "
                "{}.",
                for_people(h.window), for_people(h.remaining));
          },
          [](const UnusualClimb& h) {
            const double share = signal::JoinedClimb::share(h.pace);
            return fmt::format(
                "The pH climbed above its usual course: now by {} {}; less than {:.3f} is allowed, "
                "and dosing resumes below two thirds of that.",
                amount(h.rise ? std::optional{*h.rise * share} : std::nullopt), over(h),
                h.limit.count() * share);
          },
          [](const ClimbGoesOn& h) {
            return fmt::format(
                "The pH went on climbing by {:.2f} or more for {} although the pump rested. Look "
                "for a pump that does not stop, a siphon, or something else that was added; a "
                "person at the station must release this hold.",
                h.limit.count(), for_people(h.lasting));
          },
          [](const Risen& h) {
            return fmt::format(
                "The pH is {} above its reference of undosed days at this hour; less than {:.2f} "
                "is allowed, and dosing resumes below {:.2f}.",
                amount(h.rise), h.limit.count(), h.resume.count());
          },
          [](const EffectTooLarge& h) {
            return fmt::format(
                "The doses of a day raised the pH by {} what they usually do; from {:.1f} times on "
                "it may be milk, or no limewater. Look at the reactor's outlet and at what is in "
                "it; a person at the station must release this hold.",
                h.share ? fmt::format("{:.1f} times", *h.share) : "far more than", h.limit);
          },
          [](const TimerStepTooLong& h) {
            return fmt::format(
                "A step of the board's timer gives {:.1f} mL, and at its present pH the water "
                "bears {:.1f} mL. Use a slower pump or a finer timer.",
                h.step.count(), h.bearable.count());
          },
          [](const HourAllowanceSpent& h) {
            return spent("the last hour", h.given, h.next, h.limit);
          },
          [](const DayAllowanceSpent& h) {
            return spent("the last 24 h", h.given, h.next, h.limit);
          },
          [](const Paused& h) {
            return fmt::format("Paused by the keeper for another {}.", for_people(h.remaining));
          },
          [](const LedgerNotWritable& h) {
            return fmt::format(
                "The ledger can't be written ({}). What is not recorded is not "
                "dosed.",
                h.why);
          },
          [](const DiskSlow& h) {
            return fmt::format(
                "The disk takes too long to write, and what is not recorded is not dosed. It is "
                "tried again in {}.",
                for_people(h.remaining));
          },
          [](const OutletUnconfirmed& h) {
            return fmt::format("The {} is not confirmed to be off. Check its board and bus.",
                               outlet(h.role));
          },
          [](const OutletStuckOn& h) {
            return fmt::format(
                "The {0} reads on although it was switched off. Cut the {0}'s power "
                "by hand; a person at the station must release this hold.",
                outlet(h.role));
          },
          [](const OutletFoundOn& h) {
            return fmt::format(
                "The {0} was found on, for the second time within 24 h, although nothing had "
                "switched it on from here. Find out who or what switches it; a person at the "
                "station must release this hold.",
                outlet(h.role));
          },
          [](const PumpTimerFailed&) {
            return std::string{
                "The board did not end a pulse by its own timer, so nothing would end one if this "
                "computer died. Mend or replace the board; a person at the station must release "
                "this hold."};
          },
          [](const SwitchedOff&) {
            return std::string{
                "Everything was switched off at the station (limegate off), and what limegate "
                "switches stays off. A person at the station must release this hold."};
          },
          [](const RecordLost&) {
            return std::string{
                "The record of what waited for a person is lost, in both its copies. Look at pump, "
                "stirrer and water as if all of it had; a person at the station must release this "
                "hold."};
          },
          [](const UnknownLatch& h) {
            return fmt::format(
                "The record says that '{}' waits for a person, and this version does not know what "
                "that is: a newer one wrote it, or it was damaged. Find the cause; a person at the "
                "station must release this hold.",
                h.code);
          },
          [](const OwnerHold& h) { return h.sentence; },
      },
      hold);
}

Clears clears(const Hold& hold) {
  if (const auto* own = std::get_if<OwnerHold>(&hold)) {
    return own->why == OwnerHold::Why::latched ? Clears::by_person : Clears::by_itself;
  }
  const bool person =
      is_one_of<SecondCeilingReached, ClimbGoesOn, EffectTooLarge, OutletStuckOn, OutletFoundOn,
                PumpTimerFailed, SwitchedOff, RecordLost, UnknownLatch>(hold);
  return person ? Clears::by_person : Clears::by_itself;
}

const char* name_of(Clears clears) {
  return clears == Clears::by_person ? "by-person" : "by-itself";
}

bool needs_person(const Hold& hold) {
  if (const auto* own = std::get_if<OwnerHold>(&hold)) {
    return own->why == OwnerHold::Why::unknown && !own->watching;
  }
  return is_one_of<StirrerUnknown, StirOverdue, StirEndless, ProbeMissing, ProbeStale,
                   ProbeNotANumber, ProbeImplausible, ProbeStuck, ProbesDisagree,
                   OutletUnconfirmed>(hold);
}

Reach reach(const Hold& hold) {
  return is_one_of<TimerStepTooLong, HourAllowanceSpent, DayAllowanceSpent, ProbeDisturbed>(hold)
             ? Reach::before_pulse
             : Reach::ends_pulse;
}

}  // namespace limegate::rules
