#include "dosing/plan_fit.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

namespace limegate::dosing {
namespace {

constexpr Millilitres kRounding{0.001};

/// A slot is due from its middle on, and the probe is left to calm down between two pulses.
Duration needed_slot(const PlanShape& shape, const PlanBounds& bounds) {
  return std::max((shape.pulse_duration + kPulseExpiry) * 2,
                  shape.pulse_duration + bounds.undisturbed);
}

MillimetresPerHour upflow_speed(const PlanShape& shape, const PlanSettings& plan) {
  return mean_upflow(shape.window_volume, shape.clear_window, plan.reactor_bore);
}

bool window_fits(const PlanSettings& plan, const PlanBounds& bounds, double weight,
                 MillimetresPerHour upflow) {
  const PlanShape shape = shape_of(plan, weight);
  return shape.pulses_per_window > 0 && shape.slot >= needed_slot(shape, bounds) &&
         shape.hour_volume <= bounds.hour + kRounding && upflow_speed(shape, plan) <= upflow;
}

/// Whole ones, rounded down.
Millilitres in_tenths(Millilitres volume) {
  return Millilitres{std::floor(volume.count() * 10.0) / 10.0};
}

/// The largest volume of a day, in whole tenths of a millilitre, that fits where this one does not.
Millilitres fitting_day(const PlanSettings& plan, const PlanBounds& bounds, double weight) {
  PlanSettings tried = plan;
  double fits = 0.0;
  double too_much = plan.day_volume.count();
  while (too_much - fits > 0.05) {
    tried.day_volume = Millilitres{(fits + too_much) / 2.0};
    (window_fits(tried, bounds, weight, kUpflowBound) ? fits : too_much) = tried.day_volume.count();
  }
  return in_tenths(Millilitres{std::min(fits, bounds.day.count())});
}

}  // namespace

Upflow upflow_of(const PlanSettings& plan, double weight) {
  const PlanShape shape = shape_of(plan, weight);
  const MillimetresPerHour speed = upflow_speed(shape, plan);
  return {speed, fmt::format("{:.1f} mL within {:.0f} min through a bore of {:.0f} mm rise {:.0f} "
                             "mm/h",
                             shape.window_volume.count(), in_minutes(shape.clear_window),
                             plan.reactor_bore.count(), speed.count())};
}

double fullest_weight(const PlanSettings& plan) {
  return plan.spread == Spread::night
             ? largest_weight(weights_at_night(plan.night, plan.night_share), plan.stir.every)
             : 1.0;
}

double most_weight(const PlanSettings& plan, const PlanBounds& bounds) {
  double fits = 1.0;
  double too_much = 24.0;
  // To a thousandth of the even share.
  while (too_much - fits > 0.001) {
    const double weight = (fits + too_much) / 2.0;
    (window_fits(plan, bounds, weight, kUpflowWarn) ? fits : too_much) = weight;
  }
  return fits;
}

Millilitres most_a_day(const PlanSettings& plan, const PlanBounds& bounds) {
  PlanSettings fullest = plan;
  fullest.day_volume = in_tenths(bounds.day);
  return objections_to(fullest, bounds).empty()
             ? fullest.day_volume
             : fitting_day(fullest, bounds, fullest_weight(plan));
}

std::vector<std::string> objections_to(const PlanSettings& plan, const PlanBounds& bounds) {
  const double fullest = fullest_weight(plan);
  const PlanShape shape = shape_of(plan, fullest);
  const std::string cycle =
      fmt::format("{:.4g} min of each {:.4g} min are clear ({:.4g} stir, {:.4g} settle)",
                  in_minutes(shape.clear_window), in_minutes(plan.stir.every),
                  in_minutes(plan.stir.run), in_minutes(plan.settle));
  if (!(plan.day_volume > Millilitres{0.0})) {
    return {};
  }
  if (shape.clear_window <= Duration::zero()) {
    return {cycle + fmt::format(": nothing is left to dose in; with {:.0f} min from one stir to "
                                "the next, half an hour of each would be left",
                                in_minutes(plan.stir.run + plan.settle) + 30.0)};
  }
  if (const Millilitres step = least_pulse(plan);
      step > plan.pulse_max || plan.timer_step > plan.pulse_duration_max) {
    return {fmt::format(
        "one step of the board's timer, {:.1f} s, gives {:.1f} mL, and a pulse may be {:.1f} mL "
        "and "
        "{:.0f} s at most: no pulse could be given. Use a board with a finer timer or a slower "
        "pump, or allow larger pulses where the water bears them",
        in_minutes(plan.timer_step) * 60, step.count(), plan.pulse_max.count(),
        in_minutes(plan.pulse_duration_max) * 60)};
  }
  std::vector<std::string> objections;
  const auto nearest = [&] {
    return fmt::format("give at most {:.1f} mL a day", fitting_day(plan, bounds, fullest).count());
  };
  const Duration needed = needed_slot(shape, bounds);
  if (shape.slot < needed) {
    objections.push_back(fmt::format(
        "the plan can't fit: {}; {} pulses of {:.1f} mL and {:.0f} s leave {:.0f} s for each, and "
        "each needs {:.0f} s. Allow larger pulses, use a faster pump, or {}",
        cycle, shape.pulses_per_window, shape.pulse_volume.count(),
        in_minutes(shape.pulse_duration) * 60, in_minutes(shape.slot) * 60, in_minutes(needed) * 60,
        nearest()));
  }
  if (shape.hour_volume > bounds.hour + kRounding) {
    objections.push_back(fmt::format(
        "the plan can't fit: {}; {:.1f} mL fall into one hour, and max_hour_ml is {:.1f}: {}",
        cycle, shape.hour_volume.count(), bounds.hour.count(), nearest()));
  }
  if (plan.day_volume > bounds.day + kRounding) {
    objections.push_back(fmt::format("day_volume_ml {:.1f} is above max_day_ml {:.1f}: {}",
                                     plan.day_volume.count(), bounds.day.count(), nearest()));
  }
  if (const Upflow upflow = upflow_of(plan, fullest); !(upflow.speed <= kUpflowBound)) {
    objections.push_back(
        upflow.arithmetic +
        fmt::format("; {:.0f} mm/h lift the bed: {}, or use a reactor of {:.0f} "
                    "mm",
                    kUpflowBound.count(), nearest(),
                    std::ceil(plan.reactor_bore.count() * std::sqrt(upflow.speed / kUpflowBound))));
  }
  return objections;
}

}  // namespace limegate::dosing
