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
/// Above this it may carry the finer ones: told, and no volume that is not the keeper's own wish.
constexpr MillimetresPerHour kUpflowWarn{150.0};

/// Why a plan can't be kept, each reason with its arithmetic; empty = it fits. Pure.
[[nodiscard]] std::vector<std::string> objections_to(const PlanSettings& plan,
                                                     const PlanBounds& bounds);

/// The largest volume of a day, in whole tenths of a millilitre, that nothing objects to; never
/// above the bound of the day. Pure.
[[nodiscard]] Millilitres most_a_day(const PlanSettings& plan, const PlanBounds& bounds);

/// How many times the even share the fullest window takes, by the plan's own wish: levelling takes
/// no more than fits.
[[nodiscard]] double fullest_weight(const PlanSettings& plan);
/// The most that a window can take, in times of the even share, and keep to the hour, to its slots
/// and to a quiet reactor; at least once, at most 24 times.
[[nodiscard]] double most_weight(const PlanSettings& plan, const PlanBounds& bounds);

/// How quickly the water rises in the reactor while a window's volume is pushed through, and the
/// sentence that shows how it was found.
struct Upflow {
  MillimetresPerHour speed;
  std::string arithmetic;
};
[[nodiscard]] Upflow upflow_of(const PlanSettings& plan, double weight = 1.0);

}  // namespace limegate::dosing
