#pragma once

#include <string>

#include "calculator/water_input.h"

namespace limegate::calculator {

/// What a keeper of a reef aquarium makes of the water, in sentences: what of it is beside the
/// usual, and what limewater does to that.
/// Source: the usual ranges are common practice; omega 7: Moras et al. 2022.
[[nodiscard]] std::string verdict_on(const SolvedWater& water);

}  // namespace limegate::calculator
