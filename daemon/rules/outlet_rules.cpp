// What is known of pump and stirrer against what was commanded.

#include <fmt/format.h>

#include "rules/families.h"
#include "rules/hold_row.h"

namespace limegate::rules {
namespace {

const char* outlet(OutletRole role) { return role == OutletRole::pump ? "pump" : "stirrer"; }

const char* not_off(OutletRole role, const Snapshot& known) {
  const bool pump = role == OutletRole::pump;
  return (pump ? known.pump_outlet : known.stirrer_outlet) == OutletKnown::as_commanded ? ""
         : pump ? "the pump is not confirmed to be off"
                : "the stirrer is not confirmed to be off";
}
const char* pump_not_off(const Snapshot& known) {
  return known.pump_flow == Snapshot::PumpFlow::possible ? "the pump is not confirmed to be off"
                                                         : not_off(OutletRole::pump, known);
}
const char* stuck_still_there(const OutletStuckOn& hold, const Circumstances& now) {
  return not_off(hold.role, now.known);
}
const char* found_still_there(const OutletFoundOn& hold, const Circumstances& now) {
  return not_off(hold.role, now.known);
}
const char* timer_still_there(const PumpTimerFailed& /*hold*/, const Circumstances& now) {
  return pump_not_off(now.known);
}
const char* all_still_there(const SwitchedOff& /*hold*/, const Circumstances& now) {
  const char* const pump = pump_not_off(now.known);
  return *pump == '\0' ? not_off(OutletRole::stirrer, now.known) : pump;
}

void judge_outlet(OutletRole role, OutletKnown known, bool& latched, Holds& holds) {
  latched = latched || known == OutletKnown::stuck_on;
  if (latched) {
    holds.emplace_back(OutletStuckOn{role});
  } else if (known != OutletKnown::as_commanded) {
    holds.emplace_back(OutletUnconfirmed{role});
  }
}

void judge_found(OutletRole role, Found found, bool& latched, Holds& holds) {
  latched = latched || found == Found::again;
  if (latched) {
    holds.emplace_back(OutletFoundOn{role});
  }
}

}  // namespace

constinit const Rows<OutletHold> kOutletRows{
    HoldRow<OutletUnconfirmed>{
        [](const OutletUnconfirmed& h) {
          return h.role == OutletRole::pump ? "pump-unconfirmed" : "stirrer-unconfirmed";
        },
        Clears::by_itself, Reach::ends_pulse, Person::if_it_lasts, Teaches::yes,
        [](const OutletUnconfirmed& h) {
          return h.role == OutletRole::pump ? Flow::perhaps_uncommanded : Flow::as_commanded;
        },
        kNotRemembered, kNoCondition, kNoKey,
        [](const OutletUnconfirmed& h) {
          return fmt::format("The {} is not confirmed to be off. Check its board and bus.",
                             outlet(h.role));
        }},

    HoldRow<OutletStuckOn>{
        [](const OutletStuckOn& h) {
          return h.role == OutletRole::pump ? "pump-stuck-on" : "stirrer-stuck-on";
        },
        Clears::by_person, Reach::ends_pulse, Person::not_needed, Teaches::yes,
        [](const OutletStuckOn& h) {
          return h.role == OutletRole::pump ? Flow::perhaps_uncommanded : Flow::as_commanded;
        },
        [](const OutletStuckOn& h) {
          return h.role == OutletRole::pump ? &Memory::pump_stuck_latched
                                            : &Memory::stirrer_stuck_latched;
        },
        stuck_still_there, kNoKey,
        [](const OutletStuckOn& h) {
          return fmt::format(
              "The {0} reads on although it was switched off. Cut the {0}'s power "
              "by hand; a person at the station must release this hold.",
              outlet(h.role));
        }},

    HoldRow<OutletFoundOn>{
        [](const OutletFoundOn& h) {
          return h.role == OutletRole::pump ? "pump-found-on" : "stirrer-found-on";
        },
        Clears::by_person, Reach::ends_pulse, Person::not_needed, Teaches::yes,
        [](const OutletFoundOn& h) {
          return h.role == OutletRole::pump ? Flow::perhaps_uncommanded : Flow::as_commanded;
        },
        [](const OutletFoundOn& h) {
          return h.role == OutletRole::pump ? &Memory::pump_found_latched
                                            : &Memory::stirrer_found_latched;
        },
        found_still_there, kNoKey,
        [](const OutletFoundOn& h) {
          return fmt::format(
              "The {0} was found on, for the second time within 24 h, although nothing had "
              "switched it on from here. Find out who or what switches it; a person at the "
              "station must release this hold.",
              outlet(h.role));
        }},

    HoldRow<PumpTimerFailed>{
        "pump-timer-failed", Clears::by_person, Reach::ends_pulse, Person::not_needed, Teaches::yes,
        Flow::as_commanded, &Memory::pump_timer_latched, timer_still_there, kNoKey,
        "The board did not end a pulse by its own timer, so nothing would end one if this "
        "computer died. Mend or replace the board; a person at the station must release "
        "this hold."},

    HoldRow<SwitchedOff>{
        "switched-off", Clears::by_person, Reach::ends_pulse, Person::not_needed, Teaches::yes,
        Flow::as_commanded, &Memory::switched_off_latched, all_still_there, kNoKey,
        "Everything was switched off at the station (limegate off), and what limegate "
        "switches stays off. A person at the station must release this hold."}};

void judge_outlets(const Snapshot& known, Judgement& out) {
  judge_outlet(OutletRole::pump, known.pump_outlet, out.memory.pump_stuck_latched, out.holds);
  judge_outlet(OutletRole::stirrer, known.stirrer_outlet, out.memory.stirrer_stuck_latched,
               out.holds);
  judge_found(OutletRole::pump, known.pump_found, out.memory.pump_found_latched, out.holds);
  judge_found(OutletRole::stirrer, known.stirrer_found, out.memory.stirrer_found_latched,
              out.holds);
  out.memory.pump_timer_latched =
      out.memory.pump_timer_latched || known.pump_timer == Snapshot::PumpTimer::failed;
  if (out.memory.pump_timer_latched) {
    out.holds.emplace_back(PumpTimerFailed{});
  }
}

}  // namespace limegate::rules
