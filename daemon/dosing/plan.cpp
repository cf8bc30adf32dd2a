#include "dosing/plan.h"

#include <algorithm>
#include <cmath>
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

}  // namespace

PlanShape shape_of(const PlanSettings& settings, double weight) {
  PlanShape shape;
  shape.clear_window = settings.stir.every - settings.stir.run - settings.settle;
  shape.windows_per_day = in_minutes(std::chrono::hours{24}) / in_minutes(settings.stir.every);
  shape.window_volume = settings.day_volume / shape.windows_per_day * weight;
  const double seconds_max = std::chrono::duration<double>(settings.pulse_duration_max).count();
  const Millilitres pulse_max =
      std::min(settings.pulse_max, Millilitres{settings.pump_rate.count() * seconds_max / 60.0});
  if (!(shape.window_volume > Millilitres{0.0}) || !(pulse_max > Millilitres{0.0}) ||
      !(settings.pump_rate > MillilitresPerMinute{0.0}) || shape.clear_window <= Duration::zero()) {
    return shape;
  }
  // The small margin keeps 100 mL in pulses of 10 mL from becoming 11 by rounding.
  const double pulses = std::ceil(shape.window_volume / pulse_max - 1e-9);
  shape.pulses_per_window = static_cast<int>(std::clamp(pulses, 1.0, kPulsesMost));
  shape.pulse_volume = shape.window_volume / shape.pulses_per_window;
  // Beyond a day, where such a plan is refused too, no clock need hold it.
  const double minutes = shape.pulse_volume.count() / settings.pump_rate.count();
  shape.pulse_duration = minutes_of(std::min(minutes, in_minutes(std::chrono::hours{24})));
  shape.slot = shape.clear_window / shape.pulses_per_window;
  shape.hour_volume = shape.pulse_volume * most_in_an_hour(shape, settings.stir);
  return shape;
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
