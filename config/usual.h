#pragma once

#include <chrono>

#include "care/powder.h"
#include "config/config.h"
#include "dosing/plan.h"

/// What is usual at a site. Nothing is refused by these numbers; `limegate check` shows them beside
/// the owner's, and asks. Common practice, from memory, where no source is named.
namespace limegate::config::usual {

struct Span {
  double low;
  double high;
  [[nodiscard]] constexpr bool holds(double value) const { return value >= low && value <= high; }
};

constexpr Span kWater{20, 5000};        ///< L, sump included
constexpr Span kEvaporation{0.3, 5};    ///< % of the water a day
constexpr Span kBore{40, 400};          ///< mm; charges are told for 100, 150 and 250 (TRADE)
constexpr Span kPumpRate{1, 250};       ///< mL/min, of pumps with a tube or a small membrane
constexpr double kPumpShareMost = 0.4;  ///< of the clear time; ours: what is lost can't be made up
/// Grams of powder in the vessel, the least and the most: care/powder.h.
[[nodiscard]] inline Span charge_of(Millimetres bore) {
  const care::Interval charge = care::charge_of(bore);
  return {charge.low, charge.high};
}
constexpr Duration kPulseLeast = std::chrono::seconds{1};
constexpr Duration kSettle = std::chrono::minutes{60};

/// Operations of a small relay at its rated load.
constexpr double kRelayOperations = 100'000;
constexpr double kRelayYearsLeast = 3;
[[nodiscard]] constexpr double relay_years(double starts_per_day) {
  return starts_per_day > 0 ? kRelayOperations / (starts_per_day * 365.0) : 0.0;
}
/// Of the pump, by the plan.
[[nodiscard]] inline double starts_per_day(const Station& station) {
  const dosing::PlanShape shape = dosing::shape_of(station.settings.plan);
  return shape.windows_per_day * shape.pulses_per_window;
}

}  // namespace limegate::config::usual
