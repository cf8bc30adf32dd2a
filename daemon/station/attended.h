#pragma once

#include "units/quantities.h"
#include "units/time.h"

namespace limegate::station {

/// A priming or calibration run that is under way: ordinary pulses, one after the other, while the
/// gate is open.
struct Attended {
  Millilitres remaining;
  Millilitres counted;
  Duration ran{};
  Instant give_up;
};

}  // namespace limegate::station
