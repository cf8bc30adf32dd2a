#pragma once

#include <optional>
#include <string>

#include "units/quantities.h"
#include "units/time.h"

namespace limegate::station {

/// What was planned since limewater was dosed last, and not given.
struct Missing {
  Duration undosed_for{};
  Millilitres volume;
  std::optional<Dkh> alkalinity;  ///< that it would have brought; absent: the water is not known
};

/// `day_volume` = what a day is to get; `water` = the tank's, zero where nobody said. Saturated
/// limewater of 25 degC, so it is an estimate.
[[nodiscard]] Missing missing_after(Duration undosed_for, Millilitres day_volume, Litres water);

/// In a sentence for people; empty where it is not worth one: less than three hours.
[[nodiscard]] std::string sentence_of(const Missing& missing);

}  // namespace limegate::station
