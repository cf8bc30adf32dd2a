#pragma once

#include <chrono>

#include "rules/limits.h"

namespace limegate::rules {

/// Each makes one limit tighter by a share (above 0, up to 1) of what is left to tighten.
struct Tightening {
  const char* name;
  void (*apply)(Limits& limits, double share);
};

inline Duration part_of(double share, std::chrono::seconds most) {
  return std::chrono::seconds{static_cast<int>(share * static_cast<double>(most.count()))};
}

inline const Tightening kTightenings[] = {
    {"ceiling", [](Limits& l, double share) { l.ceiling = l.ceiling - PhChange{0.4 * share}; }},
    {"ceiling_resume",
     [](Limits& l, double share) { l.ceiling_resume = l.ceiling_resume - PhChange{0.4 * share}; }},
    {"second_ceiling",
     [](Limits& l, double share) { l.second_ceiling = l.second_ceiling - PhChange{0.4 * share}; }},
    {"climb", [](Limits& l, double share) { l.climb = l.climb * (1.0 - share); }},
    {"reading_age_max",
     [](Limits& l, double share) {
       l.reading_age_max -= part_of(share, std::chrono::seconds{10});
     }},
    {"settle", [](Limits& l, double share) { l.settle += part_of(share, std::chrono::hours{10}); }},
    {"proven",
     [](Limits& l, double share) { l.proven += part_of(share, std::chrono::minutes{10}); }},
    {"ph_plausible_low", [](Limits& l, double share) { l.ph_plausible_low += share; }},
    {"ph_plausible_high", [](Limits& l, double share) { l.ph_plausible_high -= 0.9 * share; }},
    {"temperature_plausible_low",
     [](Limits& l, double share) { l.temperature_plausible_low += 13.0 * share; }},
    {"temperature_plausible_high",
     [](Limits& l, double share) { l.temperature_plausible_high -= 13.0 * share; }},
    {"unusual_climb",
     [](Limits& l, double share) { l.unusual_climb = l.unusual_climb * (1.0 - share); }},
    {"climb_goes_on",
     [](Limits& l, double share) { l.climb_goes_on = l.climb_goes_on * (1.0 - share); }},
    {"climb_goes_on_for",
     [](Limits& l, double share) {
       l.climb_goes_on_for -= part_of(share, std::chrono::minutes{15});
     }},
    {"rise", [](Limits& l, double share) { l.rise = l.rise * (1.0 - share); }},
    {"ph_disagreement",
     [](Limits& l, double share) { l.ph_disagreement = l.ph_disagreement * (1.0 - share); }},
    {"ph_disagreement_for",
     [](Limits& l, double share) {
       l.ph_disagreement_for -= part_of(share, std::chrono::minutes{30});
     }},
    {"effect_too_large", [](Limits& l, double share) { l.effect_too_large -= 1.7 * share; }},
    {"effect_surely_large", [](Limits& l, double share) { l.effect_surely_large -= 1.3 * share; }},
    {"alkalinity_max",
     [](Limits& l, double share) { l.alkalinity_max = l.alkalinity_max * (1.0 - share); }},
    {"pulse_rise", [](Limits& l, double share) { l.pulse_rise = l.pulse_rise * (1.0 - share); }},
    {"hour_rise", [](Limits& l, double share) { l.hour_rise = l.hour_rise * (1.0 - share); }},
    {"hour", [](Limits& l, double share) { l.hour = l.hour * (1.0 - share); }},
    {"day", [](Limits& l, double share) { l.day = l.day * (1.0 - share); }},
};

}  // namespace limegate::rules
