#include "dosing/plan.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <numbers>

namespace limegate::dosing {
namespace {

/// No window has room for so many: a plan that needs them is refused for its slots.
constexpr double kPulsesMost = 10000.0;

/// The most pulses whose slots' middles fall into any sliding hour, over two full days of cycles.
int most_in_an_hour(const PlanShape& shape, const StirCycle& stir) {
  int most = 0;
  const double cycle = in_minutes(stir.every);
  const double slot = in_minutes(shape.slot);
  const auto middle = [&](int n) {
    const int window = n / shape.pulses_per_window;
    return window * cycle + (n % shape.pulses_per_window + 0.5) * slot;
  };
  const int cycles_in_reach = static_cast<int>(60.0 / cycle) + 2;
  const int all = shape.pulses_per_window * cycles_in_reach;
  int beyond = 0;  // the first that no longer falls into the hour
  for (int first = 0; first < shape.pulses_per_window; ++first) {
    while (beyond < all && middle(beyond) - middle(first) <= 60.0) {
      ++beyond;
    }
    most = std::max(most, beyond - first);
  }
  return most;
}

/// Keeps 100 mL in pulses of 10 mL from becoming 11, or 9 steps, by rounding.
constexpr double kMargin = 1e-9;

/// Of one step's pulse, or of as many as fit into a pulse.
double whole(Millilitres volume, Millilitres step) {
  return std::max(1.0, std::floor(volume / step + kMargin));
}

/// Sorts a window's volume into pulses of at most `pulse_max`.
void sort_into_pulses(PlanShape& shape, Millilitres pulse_max, Millilitres step) {
  if (step <= Millilitres{0.0}) {
    const double pulses = std::ceil(shape.window_volume / pulse_max - kMargin);
    shape.pulses_per_window = static_cast<int>(std::clamp(pulses, 1.0, kPulsesMost));
    shape.pulse_volume = shape.window_volume / shape.pulses_per_window;
    return;
  }
  const double steps_max = whole(pulse_max, step);
  const double steps =
      std::min(std::floor(shape.window_volume / step + kMargin), kPulsesMost * steps_max);
  shape.steps = static_cast<int>(steps);
  shape.window_volume = step * steps;
  shape.pulses_per_window = static_cast<int>(std::ceil(steps / steps_max - kMargin));
  if (shape.pulses_per_window > 0) {
    shape.pulse_volume = step * std::ceil(steps / shape.pulses_per_window - kMargin);
  }
}

}  // namespace

Millilitres even_share(const PlanSettings& settings) {
  return settings.day_volume *
         (in_minutes(settings.stir.every) / in_minutes(std::chrono::hours{24}));
}

Millilitres least_pulse(const PlanSettings& settings) {
  return Millilitres{settings.pump_rate.count() * in_minutes(settings.timer_step)};
}

Millilitres longest_pulse(const PlanSettings& settings) {
  return Millilitres{settings.pump_rate.count() * in_minutes(settings.pulse_duration_max)};
}

Millilitres in_whole_steps(Millilitres volume, const PlanSettings& settings) {
  const Millilitres step = least_pulse(settings);
  return step > Millilitres{0.0} ? step * whole(volume, step) : volume;
}

Duration duration_of(Millilitres volume, const PlanSettings& settings) {
  const Millilitres step = least_pulse(settings);
  if (step > Millilitres{0.0}) {
    return settings.timer_step * std::llround(volume / step);
  }
  // Beyond a day, where such a plan is refused too, no clock need hold it.
  const double minutes = volume.count() / settings.pump_rate.count();
  return minutes_of(std::min(minutes, in_minutes(std::chrono::hours{24})));
}

PlanShape shape_within(const PlanSettings& settings, Millilitres volume) {
  PlanShape shape;
  shape.clear_window = settings.stir.every - settings.stir.run - settings.settle;
  shape.windows_per_day = in_minutes(std::chrono::hours{24}) / in_minutes(settings.stir.every);
  shape.window_volume = volume;
  const Millilitres pulse_max = std::min(settings.pulse_max, longest_pulse(settings));
  if (!(shape.window_volume > Millilitres{0.0}) || !(pulse_max > Millilitres{0.0}) ||
      !(settings.pump_rate > MillilitresPerMinute{0.0}) || shape.clear_window <= Duration::zero()) {
    return shape;
  }
  sort_into_pulses(shape, pulse_max, least_pulse(settings));
  if (shape.pulses_per_window == 0) {
    return shape;
  }
  shape.pulse_duration = duration_of(shape.pulse_volume, settings);
  shape.slot = shape.clear_window / shape.pulses_per_window;
  shape.hour_volume = shape.pulse_volume * most_in_an_hour(shape, settings.stir);
  return shape;
}

PlanShape shape_of(const PlanSettings& settings, double weight) {
  const Millilitres share = even_share(settings) * weight;
  const Millilitres step = least_pulse(settings);
  const bool steps = step > Millilitres{0.0} && share > Millilitres{0.0};
  return shape_within(settings, steps ? step * std::ceil(share / step - kMargin) : share);
}

Millilitres volume_of(const PlanShape& shape, int index, const PlanSettings& settings) {
  if (shape.steps == 0) {
    return shape.pulse_volume;
  }
  const std::int64_t steps = shape.steps;
  const std::int64_t pulses = shape.pulses_per_window;
  const auto so_far = [&](std::int64_t count) { return count * steps / pulses; };
  return least_pulse(settings) * static_cast<double>(so_far(index + 1) - so_far(index));
}

std::optional<Slot> due_slot(const PlanShape& shape, Instant open, Instant close, Instant now) {
  if (shape.pulses_per_window == 0 || now < open || now >= close ||
      now + shape.pulse_duration + kPulseExpiry > close) {
    return std::nullopt;
  }
  const auto index = static_cast<int>((now - open) / shape.slot);
  const Duration into_slot = (now - open) % shape.slot;
  if (index >= shape.pulses_per_window || into_slot < shape.slot / 2) {
    return std::nullopt;
  }
  return Slot{open, index};
}

std::optional<Instant> next_due(const PlanShape& shape, Instant open, Instant close, Instant now) {
  for (int index = 0; index < shape.pulses_per_window; ++index) {
    const Instant due = open + shape.slot * index + shape.slot / 2;
    if (due > now && due + shape.pulse_duration + kPulseExpiry <= close) {
      return due;
    }
  }
  return std::nullopt;
}

MillimetresPerHour mean_upflow(Millilitres volume, Duration window, Millimetres bore) {
  const double area_mm2 = std::numbers::pi / 4.0 * bore.count() * bore.count();
  const double hours = in_minutes(window) / 60.0;
  return MillimetresPerHour{volume.count() * 1000.0 / area_mm2 / hours};
}

}  // namespace limegate::dosing
