#pragma once

namespace limegate::gpio {

/// A digital input line of a GPIO chip.
struct LineSettings {
  unsigned line = 0;  ///< offset on its chip
  enum class Polarity { active_high, active_low } polarity = Polarity::active_high;
};

}  // namespace limegate::gpio
