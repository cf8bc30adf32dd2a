#pragma once

#include <chrono>
#include <string>

#include "station/effects.h"
#include "station/settings.h"

namespace limegate::station {

/// A station's settings for a part that is tried alone: 720 mL a day in windows of 45 min, so two
/// pulses of 30 mL in each.
inline Settings part_settings() {
  Settings settings;
  settings.limits.hour = Millilitres{200.0};
  settings.limits.day = Millilitres{720.0};
  settings.ph.plausible_low = settings.limits.ph_plausible_low;
  settings.ph.plausible_high = settings.limits.ph_plausible_high;
  settings.temperature.plausible_low = settings.limits.temperature_plausible_low;
  settings.temperature.plausible_high = settings.limits.temperature_plausible_high;
  settings.plan.day_volume = Millilitres{720.0};
  settings.plan.pulse_max = Millilitres{30.0};
  settings.plan.pump_rate = MillilitresPerMinute{40.0};
  settings.pump_rate_dated = true;
  return settings;
}

constexpr Moment kStart{Instant{std::chrono::hours{100}}, WallTime{std::chrono::hours{500000}}};
inline Moment after(Duration duration) { return {kStart.mono + duration, kStart.wall + duration}; }

/// How often an event of this code is among the effects.
inline int raised(const Effects& effects, const std::string& code) {
  int times = 0;
  for (const Effect& effect : effects) {
    const auto* raise = std::get_if<Raise>(&effect);
    times += raise != nullptr && raise->event.code == code ? 1 : 0;
  }
  return times;
}

}  // namespace limegate::station
