#pragma once

#include <optional>
#include <string>
#include <vector>

#include "units/quantities.h"
#include "units/time.h"

namespace limegate::care {

/// Whether a shown pH stands still: within a hundredth for a minute. That is half a millivolt
/// (CARE.md, section 8; 0.0085 pH at 25 °C) and the last digit that most probes show.
class Steadiness {
 public:
  static constexpr Duration kFor = std::chrono::seconds{60};
  static constexpr Duration kAtMost = std::chrono::minutes{5};  ///< then something is wrong
  static constexpr PhChange kWithin{0.0101};  ///< of a decimal hundredth, with its rounding

  /// Times do not go backwards; two of one time are one.
  void take(WallTime at, Ph shown);
  [[nodiscard]] bool steady() const;
  /// From the lowest to the highest within the last minute; absent: nothing was seen yet.
  [[nodiscard]] std::optional<PhChange> moved() const;
  [[nodiscard]] bool given_up() const;

 private:
  struct Shown {
    WallTime at;
    Ph ph;
  };
  std::vector<Shown> seen_;  ///< of the last minute, and one that is older
  std::optional<WallTime> began_;
};

/// A probe in a buffer, as pH.
struct InBuffer {
  Ph buffer;  ///< at its temperature: chemistry/ph_buffers.h
  Ph shown;
};
/// What two buffers and the first one again say of a probe that shows pH.
struct ProbeVerdict {
  Percent slope;        ///< of what it should show from one buffer to the other
  PhChange at_reef;     ///< what it shows too much at pH 8.2
  PhChange back;        ///< the first buffer again, less what it was
  bool serves = false;  ///< nothing of it is too much
  std::string sentence;
  std::string note;  ///< the same in few letters, for the book
};
/// The buffers are nominally 7.00 and 10.01. It serves with a slope of 85 to 105 % (common
/// practice), within 0.1 at pH 8.2, and with the first buffer again within 0.02 (CARE.md, sections
/// 7 and 8).
[[nodiscard]] ProbeVerdict verdict_of(const InBuffer& first, const InBuffer& second, Ph again);

/// The same of a probe that is read in millivolts.
struct MillivoltsRead {
  Celsius temperature;
  Millivolts seven, ten, seven_again;
};
[[nodiscard]] ProbeVerdict verdict_of(const MillivoltsRead& read);

}  // namespace limegate::care
