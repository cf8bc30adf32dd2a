#include "dosing/plan_fit.h"

#include <algorithm>

#include <fmt/format.h>

namespace limegate::dosing {
namespace {

double in_minutes(Duration duration) {
  return std::chrono::duration<double, std::ratio<60>>(duration).count();
}

}  // namespace

Upflow upflow_of(const PlanSettings& plan) {
  const PlanShape shape = shape_of(plan);
  const MillimetresPerHour speed =
      mean_upflow(shape.window_volume, shape.clear_window, plan.reactor_bore);
  return {speed, fmt::format("{:.1f} mL within {:.0f} min through a bore of {:.0f} mm rise {:.0f} "
                             "mm/h",
                             shape.window_volume.count(), in_minutes(shape.clear_window),
                             plan.reactor_bore.count(), speed.count())};
}

std::vector<std::string> objections_to(const PlanSettings& plan, const PlanBounds& bounds) {
  const PlanShape shape = shape_of(plan);
  const std::string cycle =
      fmt::format("{:.0f} min of each {:.0f} min are clear ({:.0f} stir, {:.0f} settle)",
                  in_minutes(shape.clear_window), in_minutes(plan.stir.every),
                  in_minutes(plan.stir.run), in_minutes(plan.settle));
  if (!(plan.day_volume > Millilitres{0.0})) {
    return {};
  }
  if (shape.clear_window <= Duration::zero()) {
    return {cycle + ": nothing is left to dose in; stir less often"};
  }
  std::vector<std::string> objections;
  // A slot is due from its middle on, and the probe is left to calm down between two pulses.
  const Duration needed = std::max((shape.pulse_duration + kPulseExpiry) * 2,
                                   shape.pulse_duration + bounds.undisturbed);
  if (shape.slot < needed) {
    objections.push_back(fmt::format(
        "the plan can't fit: {}; {} pulses of {:.1f} mL and {:.0f} s leave {:.0f} s for each, and "
        "each needs {:.0f} s. Give fewer or shorter pulses, a smaller volume, or a faster pump",
        cycle, shape.pulses_per_window, shape.pulse_volume.count(),
        in_minutes(shape.pulse_duration) * 60, in_minutes(shape.slot) * 60,
        in_minutes(needed) * 60));
  }
  if (shape.hour_volume > bounds.hour + Millilitres{0.001}) {
    objections.push_back(fmt::format(
        "the plan can't fit: {}; {:.1f} mL fall into one hour, and max_hour_ml is {:.1f}", cycle,
        shape.hour_volume.count(), bounds.hour.count()));
  }
  if (plan.day_volume > bounds.day + Millilitres{0.001}) {
    objections.push_back(fmt::format("day_volume_ml {:.1f} is above max_day_ml {:.1f}",
                                     plan.day_volume.count(), bounds.day.count()));
  }
  if (const Upflow upflow = upflow_of(plan); !(upflow.speed <= kUpflowBound)) {
    objections.push_back(upflow.arithmetic +
                         fmt::format("; {:.0f} mm/h lift the bed. Give less, or use a wider "
                                     "reactor",
                                     kUpflowBound.count()));
  }
  return objections;
}

}  // namespace limegate::dosing
