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

/// One that is over, and what a person may still say it gave.
struct Measurable {
  Duration ran{};
  Instant until;
};

}  // namespace limegate::station
