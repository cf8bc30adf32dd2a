#pragma once

#include <string>

#include "care/commission_step.h"
#include "units/quantities.h"
#include "units/time.h"

namespace limegate::care {

/// Facts of a station that the steps are told with.
struct Plant {
  Litres water;
  Millilitres evaporation_per_day;
  Millimetres bore;
  MillilitresPerMinute pump_rate;
  Duration settles;
  bool board_ends_runs = true;  ///< by its own timer
  Millilitres first_volume;     ///< that dosing begins with a day: first_volume_of()
};

/// What a step asks of the keeper, in whole sentences, a line each.
[[nodiscard]] std::string asks_of(Step step, const Plant& plant);
/// What it costs to skip it, in whole sentences.
[[nodiscard]] std::string cost_of_skipping(Step step);

}  // namespace limegate::care
