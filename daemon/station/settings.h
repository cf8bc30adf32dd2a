#pragma once

#include <string>

#include "dosing/plan_fit.h"
#include "rules/limits.h"
#include "signal/conditioner.h"
#include "units/quantities.h"

namespace limegate::station {

enum class StirrerKind { switched, observed };

/// What a plan must keep to under these limits.
[[nodiscard]] inline dosing::PlanBounds plan_bounds(const rules::Limits& limits) {
  return {limits.hour, limits.day, limits.undisturbed};
}

/// All a station needs to know to decide. Made from the owner's file, which has been checked.
struct Settings {
  std::string name;
  rules::Limits limits;
  signal::Conditioning ph;
  signal::Conditioning temperature;
  dosing::PlanSettings plan;
  StirrerKind stirrer = StirrerKind::switched;
};

}  // namespace limegate::station
