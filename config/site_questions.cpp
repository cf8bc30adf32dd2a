// Numbers of a site that are allowed and seldom right. What is usual is common practice, from
// memory, where no source stands beside it.

#include <algorithm>
#include <array>
#include <chrono>

#include <fmt/format.h>

#include "config/question_rows.h"
#include "config/site_bounds.h"
#include "config/usual.h"
#include "dosing/plan_fit.h"
#include "units/plain_number.h"

namespace limegate::config::ask {
namespace {

double evaporates_percent(const Station& station) {
  return station.site.evaporation_per_day.count() / station.site.water.count() / 10.0;
}

}  // namespace

Sentence water_volume(const Config& /*config*/, const Station& station) {
  const double litres = station.site.water.count();
  if (usual::kWater.holds(litres)) {
    return std::nullopt;
  }
  return fmt::format(
      "{} L of water: reef tanks have {:.0f} to {:.0f} L, and every limit of volume follows "
      "from this number. Is it right, in litres, and not ten times off?",
      plain_number(litres, 5), usual::kWater.low, usual::kWater.high);
}

Sentence gallons(const Config& /*config*/, const Station& station) {
  // Sizes of the North American trade; common practice, from memory.
  constexpr std::array sizes{20.0,  29.0,  40.0,  55.0,  65.0,  75.0,  90.0,
                             110.0, 120.0, 125.0, 150.0, 180.0, 210.0, 220.0};
  constexpr double litres_a_gallon = 3.785;
  const double given = station.site.water.count();
  if (std::find(sizes.begin(), sizes.end(), given) == sizes.end() ||
      evaporates_percent(station) <= 2.0 ||
      evaporates_percent(station) > usual::kEvaporation.high) {
    return std::nullopt;
  }
  return fmt::format(
      "{:.0f} is a size in which tanks are sold by the US gallon, and {:.1f} % of so many litres "
      "evaporate each day. Are these litres? {:.0f} US gallons are {:.0f} L.",
      given, evaporates_percent(station), given, given * litres_a_gallon);
}

Sentence evaporation(const Config& /*config*/, const Station& station) {
  const double percent = evaporates_percent(station);
  if (usual::kEvaporation.holds(percent)) {
    return std::nullopt;
  }
  return fmt::format(
      "{:.0f} mL of {} L, {} %, evaporate each day: {:.1f} to {:.0f} % are usual. It is "
      "the "
      "most that is ever dosed. Were both measured, and is none ten times off?",
      station.site.evaporation_per_day.count(), plain_number(station.site.water.count(), 5),
      plain_number(percent, 2), usual::kEvaporation.low, usual::kEvaporation.high);
}

Sentence reactor_bore(const Config& /*config*/, const Station& station) {
  const double bore = station.site.reactor_bore.count();
  if (usual::kBore.holds(bore)) {
    return std::nullopt;
  }
  return fmt::format(
      "the reactor is {:.4g} mm wide inside: {:.0f} to {:.0f} mm are usual. Too wide a number "
      "hides a flow that lifts the powder. Are these millimetres?",
      bore, usual::kBore.low, usual::kBore.high);
}

Sentence pump_rate(const Config& /*config*/, const Station& station) {
  const double rate = station.settings.plan.pump_rate.count();
  if (usual::kPumpRate.holds(rate)) {
    return std::nullopt;
  }
  return fmt::format(
      "the pump gives {:.4g} mL a minute: pumps for this give {:.0f} to {:.0f}. A rate that is too "
      "low here doses too much. Was it measured, into a cylinder?",
      rate, usual::kPumpRate.low, usual::kPumpRate.high);
}

Sentence pump_share(const Config& /*config*/, const Station& station) {
  const dosing::PlanSettings& plan = station.settings.plan;
  const dosing::PlanShape shape = dosing::shape_of(plan);
  const double clear_min = shape.windows_per_day * in_minutes(shape.clear_window);
  const double runs_min = plan.day_volume.count() / plan.pump_rate.count();
  if (runs_min <= usual::kPumpShareMost * clear_min) {
    return std::nullopt;
  }
  return fmt::format(
      "at {:.4g} mL a minute the pump runs {:.0f} of the {:.0f} min a day in which the limewater "
      "is "
      "clear. Is the rate ten times off, or the pump too slow for this volume?",
      plan.pump_rate.count(), runs_min, clear_min);
}

Sentence short_pulse(const Config& /*config*/, const Station& station) {
  const dosing::PlanShape shape = dosing::shape_of(station.settings.plan);
  if (shape.pulses_per_window == 0 || shape.pulse_duration >= usual::kPulseLeast) {
    return std::nullopt;
  }
  return fmt::format(
      "a pulse takes {:.2f} s: pumps give their rate only after they have run for a second. Is "
      "rate_ml_per_min ten times off, or can max_pulse_ml be larger?",
      in_seconds(shape.pulse_duration));
}

Sentence long_pulse(const Config& /*config*/, const Station& station) {
  const dosing::PlanSettings& plan = station.settings.plan;
  const auto is_pulse = [](const GivenNumber& one) { return one.key == "max_pulse_ml"; };
  if (std::none_of(station.given.begin(), station.given.end(), is_pulse) ||
      plan.pulse_max <= dosing::longest_pulse(plan)) {
    return std::nullopt;
  }
  return fmt::format(
      "{} mL take {} s at {:.4g} mL a minute, and a pulse may last {:.4g} s (max_pulse_s): "
      "no pulse gives more than {} mL. Is rate_ml_per_min ten times off, or the volume?",
      plain_number(plan.pulse_max.count(), 4),
      plain_number(plan.pulse_max.count() / plan.pump_rate.count() * 60.0, 4),
      plan.pump_rate.count(), in_seconds(plan.pulse_duration_max),
      plain_number(dosing::longest_pulse(plan).count(), 4));
}

Sentence relay_life(const Config& /*config*/, const Station& station) {
  const double starts = usual::starts_per_day(station);
  const double years = usual::relay_years(starts);
  if (!station.wiring || starts <= 0 || years >= usual::kRelayYearsLeast) {
    return std::nullopt;
  }
  return fmt::format(
      "the pump starts {:.0f} times a day, and a relay of {:.0f} operations lasts {:.1f} years so. "
      "A worn relay welds shut. Give larger pulses, or is it a switch without contacts?",
      starts, usual::kRelayOperations, years);
}

Sentence settle_time(const Config& /*config*/, const Station& station) {
  const Duration settle = station.settings.limits.settle;
  if (settle >= usual::kSettle) {
    return std::nullopt;
  }
  return fmt::format(
      "the limewater settles for {:.4g} min: an hour is common practice, and fine powder (10 µm) "
      "sinks 268 mm in it by Stokes' law. Milk kills. Have you seen that yours is clear by then?",
      in_minutes(settle));
}

Sentence limits_at_bounds(const Config& /*config*/, const Station& station) {
  const rules::Limits& limits = station.settings.limits;
  constexpr double close = 1e-9;
  const std::array at_bound{limits.ceiling.count() >= 8.60 - close,
                            limits.second_ceiling.count() >= 8.70 - close,
                            limits.climb.count() >= 0.20 - close,
                            limits.unusual_climb.count() >= 0.12 - close,
                            limits.rise.count() >= 0.30 - close,
                            limits.hour_rise >= kHourRiseBound,
                            limits.pulse_rise >= kPulseRiseBound,
                            limits.settle <= std::chrono::minutes{20},
                            limits.reading_age_max >= std::chrono::seconds{60}};
  const auto count = std::count(at_bound.begin(), at_bound.end(), true);
  if (count < 6) {
    return std::nullopt;
  }
  return fmt::format(
      "{} limits stand at the bound that no file can pass. The bounds are where harm begins, not "
      "where a station should work; the defaults are common practice. Is each of them meant?",
      count);
}

Sentence temperature_band(const Config& /*config*/, const Station& station) {
  const rules::Limits& limits = station.settings.limits;
  if (limits.temperature_plausible_high - limits.temperature_plausible_low >= 2.0) {
    return std::nullopt;
  }
  return fmt::format(
      "temperature_low_c {:.1f} and temperature_high_c {:.1f} leave no room between them, so "
      "dosing is held nearly always. Are they the wrong way round?",
      limits.temperature_plausible_low, limits.temperature_plausible_high);
}

}  // namespace limegate::config::ask
