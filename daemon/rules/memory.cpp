// What waits for a person, and what others ask of the rules beside a judgement.

#include <algorithm>
#include <cstdlib>

#include "rules/judge.h"

namespace limegate::rules {

signal::Reading counting_ph(const Snapshot& known) {
  return known.second_ph ? signal::higher_of(known.ph, *known.second_ph) : known.ph;
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

const std::vector<Latch>& latches() {
  static const std::vector<Latch> all{
      {&Memory::second_ceiling_latched, SecondCeilingReached{}},
      {&Memory::climb_goes_on_latched, ClimbGoesOn{}},
      {&Memory::effect_too_large_latched, EffectTooLarge{}},
      {&Memory::pump_timer_latched, PumpTimerFailed{}},
      {&Memory::pump_stuck_latched, OutletStuckOn{OutletRole::pump}},
      {&Memory::stirrer_stuck_latched, OutletStuckOn{OutletRole::stirrer}},
      {&Memory::pump_found_latched, OutletFoundOn{OutletRole::pump}},
      {&Memory::stirrer_found_latched, OutletFoundOn{OutletRole::stirrer}},
      {&Memory::switched_off_latched, SwitchedOff{}},
      {&Memory::record_latched, RecordLost{}}};
  return all;
}

bool Judgement::ends_pulse() const {
  return std::any_of(holds.begin(), holds.end(),
                     [](const Hold& hold) { return reach(hold) == Reach::ends_pulse; });
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

bool raw_ph_closes(double raw, const Limits& limits) {
  return raw >= limits.ph_plausible_low && raw <= limits.ph_plausible_high &&
         !(Ph{raw} < limits.ceiling);
}

}  // namespace limegate::rules
