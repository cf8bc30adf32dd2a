#pragma once

#include <string>

#include "dosing/plan.h"
#include "rules/limits.h"
#include "signal/conditioner.h"
#include "units/quantities.h"

namespace limegate::station {

enum class StirrerKind { switched, observed };

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
