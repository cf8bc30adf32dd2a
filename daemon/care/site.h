#pragma once

#include <optional>

#include "units/quantities.h"

namespace limegate::care {

/// The vessel with the powder.
struct Reactor {
  Millimetres bore;
  double powder_g_per_ml;  ///< that limewater takes along
};

/// Facts of the site that estimate and advice need.
struct Site {
  Litres water;                     ///< all that is mixed, sump included; above zero
  Millilitres evaporation_per_day;  ///< limewater takes its place
  Millilitres most_per_day;         ///< no day's limewater may be more; at most the evaporation
  Dkh per_millilitre;  ///< what a millilitre of limewater nominally adds to this tank; above zero
  std::optional<Reactor> reactor = {};  ///< absent: nothing is said of its powder
};

}  // namespace limegate::care
