#pragma once

#include "units/time.h"

namespace limegate::signal {

/// May a value be used? Only `good` may open the gate; `uncertain` holds; `bad` ends a pulse.
/// Source: the three severities of OPC UA Part 4, 7.39.1.
enum class Quality { good, uncertain, bad };

/// Why a reading is not good.
enum class Reason {
  none,
  missing,           ///< the probe never answered since start
  no_communication,  ///< it answered once, and its last answers failed until the value grew too old
  stale,             ///< the newest value is too old
  not_a_number,
  implausible,  ///< outside what a living tank can show
  stuck,        ///< the last digit has not moved for too long
  unsteady,     ///< jumped or was implausible lately
};

/// What the probe itself needs, in the five signals of NAMUR NE 107 (2017-04-10).
enum class ProbeStatus {
  good,
  maintenance_required,
  out_of_specification,
  function_check,
  failure
};

/// A conditioned value. `value` means nothing while quality is bad for `missing` or `not_a_number`.
/// Units: those of the probe (pH on its own scale, °C).
struct Reading {
  double value = 0.0;   ///< median of the newest plausible samples
  double newest = 0.0;  ///< newest raw sample, plausible or not
  Quality quality = Quality::bad;
  Reason reason = Reason::missing;
  Duration age{};      ///< of the newest sample; negative only if a clock is broken
  Duration lasting{};  ///< stuck: how long already; unsteady: how long still
  Moment at{};         ///< when the newest sample arrived
};

/// Two probes in the same water as one reading: the higher value counts, and the higher raw one. It
/// is no better than the worse of both; where one of them is bad, it is the other's, and uncertain.
[[nodiscard]] Reading higher_of(const Reading& a, const Reading& b);

/// NE 107 status that goes with a reading.
[[nodiscard]] ProbeStatus status_of(const Reading& reading);

/// Names for records and screens: "good", "no-communication", "out-of-specification" ...
[[nodiscard]] const char* name_of(Quality quality);
[[nodiscard]] const char* name_of(Reason reason);
[[nodiscard]] const char* name_of(ProbeStatus status);

}  // namespace limegate::signal
