#pragma once

#include <span>
#include <string>

#include "units/quantities.h"
#include "units/time.h"

namespace limegate::care {

/// Measuring cylinders of two classes (ISO 4788, ASTM E1272 alike; CARE.md, section 8).
enum class Cylinder { class_a, class_b };

/// What one timed run into a cylinder is known to, as a share of its rate: the standard uncertainty
/// of reading so much (the cylinder's limit, 1 mL of 100 in class B and half of it in A, taken as
/// evenly likely within) and of so long (0.2 s).
/// Valid: a volume and a time above zero.   Source: CARE.md, section 8.
[[nodiscard]] double reading_share(Cylinder cylinder, Millilitres collected, Duration ran);

/// Timed runs of one pump together.
struct RateRuns {
  std::size_t runs = 0;  ///< that count: the newest five at the most
  MillilitresPerMinute mean{};
  double spread = 0.0;  ///< from the lowest to the highest, as a share of the mean
  double ninety = 0.0;  ///< 90 % of means lie within this share of the true one; 0 below three runs
  enum class Verdict {
    more,    ///< go on: three runs, or five where three differ by 3 % or more
    enough,  ///< the mean is known to 3 %
    again    ///< five differ too much: look for air and a slipping tube
  } verdict = Verdict::more;
};
/// A measured rate above this share of the file's is another one: more flows than is counted. Below
/// it, a cylinder is read to some hundredths.
inline constexpr double kRateReadsOver = 1.05;

/// `runs` are all above zero, the oldest first.   Source: CARE.md, section 8.
[[nodiscard]] RateRuns rate_of(std::span<const MillilitresPerMinute> runs);
/// One sentence of it.
[[nodiscard]] std::string sentence_of(const RateRuns& rate);

}  // namespace limegate::care
