#pragma once

#include <string>
#include <vector>

#include "dosing/plan.h"
#include "units/quantities.h"
#include "units/time.h"

namespace limegate::dosing {

/// What a plan must keep to.
struct PlanBounds {
  Millilitres hour;                                 ///< in any sliding hour
  Millilitres day;                                  ///< in any sliding 24 h
  Duration undisturbed = std::chrono::seconds{60};  ///< the probe's calm between two pulses
};

/// 10 µm particles of calcium hydroxide sink 268 mm/h at 25 °C (Stokes): above this the bed lifts.
constexpr MillimetresPerHour kUpflowBound{270.0};

/// Why a plan can't be kept, each reason with its arithmetic; empty = it fits. Pure.
[[nodiscard]] std::vector<std::string> objections_to(const PlanSettings& plan,
                                                     const PlanBounds& bounds);

/// How quickly the water rises in the reactor while a window's volume is pushed through, and the
/// sentence that shows how it was found.
struct Upflow {
  MillimetresPerHour speed;
  std::string arithmetic;
};
[[nodiscard]] Upflow upflow_of(const PlanSettings& plan);

}  // namespace limegate::dosing
