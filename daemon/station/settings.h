#pragma once

#include <algorithm>
#include <chrono>
#include <optional>
#include <string>

#include "dosing/plan_fit.h"
#include "rules/limits.h"
#include "rules/owner_rule.h"
#include "signal/conditioner.h"
#include "station/water_response.h"
#include "units/quantities.h"

namespace limegate::station {

enum class StirrerKind { switched, observed };
/// What ends a run of the pump: the board's own timer, or this program by an off in time.
enum class RunEnds { by_board, by_us };

/// What a plan must keep to under these limits.
[[nodiscard]] inline dosing::PlanBounds plan_bounds(const rules::Limits& limits) {
  return {limits.hour, limits.day, limits.undisturbed};
}

/// All a station needs to know to decide. Made from the owner's file, which has been checked.
struct Settings {
  std::string name;
  rules::Limits limits;
  signal::Conditioning ph;
  std::optional<signal::Conditioning> second_ph;  ///< absent: there is no second pH probe
  signal::Conditioning temperature;
  dosing::PlanSettings plan;
  SiteWater water;
  std::optional<Ph> reference;  ///< as the owner gives it; absent: recorded before dosing begins
  /// A station that was hardly dosed yet begins with so much a day until the keeper says more.
  /// Absent: it begins with the plan's.
  std::optional<Millilitres> begins_with;
  StirrerKind stirrer = StirrerKind::switched;
  RunEnds pump_ends = RunEnds::by_board;
  bool pump_rate_dated = false;  ///< the file says when the pump's rate was measured
  rules::OwnerRulebook owner;
};

/// The most that one attended run may give: within its volume, and within its time.
[[nodiscard]] inline Millilitres attended_most(const Settings& settings) {
  const double minutes = in_minutes(settings.limits.attended_duration);
  return std::min(settings.limits.attended_volume,
                  Millilitres{settings.plan.pump_rate.count() * minutes});
}

}  // namespace limegate::station
