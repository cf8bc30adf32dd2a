#pragma once

#include <chrono>
#include <string>
#include <utility>
#include <vector>

#include "rehearsal/rehearsal.h"

namespace limegate::rehearsal {

/// 400 L, 2000 mL a day; the scenario is our own.
inline Rehearsal::Plan plan(Duration lasting) {
  Rehearsal::Plan plan;
  plan.lasting = lasting;
  station::Settings& settings = plan.settings;
  settings.name = "reef";
  settings.limits.hour = Millilitres{350.0};
  settings.limits.day = Millilitres{2090.0};
  settings.ph.plausible_low = settings.limits.ph_plausible_low;
  settings.ph.plausible_high = settings.limits.ph_plausible_high;
  settings.ph.stuck_after = std::chrono::hours{3};
  settings.temperature.plausible_low = settings.limits.temperature_plausible_low;
  settings.temperature.plausible_high = settings.limits.temperature_plausible_high;
  settings.temperature.stuck_after = std::chrono::hours{12};
  settings.temperature.resolution = 0.1;
  settings.plan.day_volume = Millilitres{2000.0};
  settings.plan.pulse_max = Millilitres{85.0};
  settings.plan.pump_rate = MillilitresPerMinute{50.0};
  settings.pump_rate_dated = true;
  return plan;
}

inline Outcome rehearse(Rehearsal::Plan plan, std::vector<Fault> faults = {}) {
  plan.faults = std::move(faults);
  return Rehearsal{std::move(plan)}.run().value();
}

inline std::string lines(const std::vector<std::string>& all) {
  std::string text;
  for (const std::string& one : all) {
    text += one + "\n";
  }
  return text;
}

}  // namespace limegate::rehearsal
