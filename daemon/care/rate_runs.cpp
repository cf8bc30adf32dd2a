#include "care/rate_runs.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <cstdlib>

#include <fmt/format.h>

namespace limegate::care {
namespace {

constexpr std::size_t kFew = 3, kMany = 5;
/// The mean of three that differ by less is known to it.
constexpr double kKnownTo = 0.03;
/// Half of the 90 % interval of a mean, in ranges, of 3, 4 and 5 runs: Student's t over the mean
/// range of normal samples (1.693, 2.059, 2.326) and the root of their number. CARE.md, section 8,
/// has the first and the last; the middle one is computed alike.
constexpr std::array kNinety{1.0, 0.57, 0.41};
/// What a hand or a relay adds to a time, s.
constexpr double kTimeSd = 0.2;

/// What a cylinder may be off by, mL: 100 mL of class B by 1, 250 mL by 2, and class A by half of
/// that; a larger one as the second (the others from memory of the standards).
double limit_of(Cylinder cylinder, Millilitres collected) {
  const double b = collected.count() <= 100.0 ? 1.0 : std::max(2.0, 0.008 * collected.count());
  return cylinder == Cylinder::class_a ? b / 2.0 : b;
}

}  // namespace

double reading_share(Cylinder cylinder, Millilitres collected, Duration ran) {
  const double volume = limit_of(cylinder, collected) / (std::sqrt(3.0) * collected.count());
  return std::hypot(volume, kTimeSd / in_seconds(ran));
}

RateRuns rate_of(std::span<const MillilitresPerMinute> runs) {
  const auto newest = runs.last(std::min(runs.size(), kMany));
  RateRuns rate;
  rate.runs = newest.size();
  if (newest.empty()) {
    return rate;
  }
  double sum = 0.0;
  for (const MillilitresPerMinute run : newest) {
    sum += run.count();
  }
  rate.mean = MillilitresPerMinute{sum / static_cast<double>(newest.size())};
  const auto [low, high] = std::minmax_element(newest.begin(), newest.end());
  rate.spread = (high->count() - low->count()) / rate.mean.count();
  if (newest.size() < kFew) {
    return rate;
  }
  rate.ninety = kNinety.at(newest.size() - kFew) * rate.spread;
  const bool alike = rate.spread < kKnownTo;
  const bool many = newest.size() == kMany;
  rate.verdict = alike || (many && rate.ninety < kKnownTo) ? RateRuns::Verdict::enough
                 : many                                    ? RateRuns::Verdict::again
                                                           : RateRuns::Verdict::more;
  return rate;
}

std::string sentence_of(const RateRuns& rate) {
  if (rate.runs == 0) {
    return "No timed run is in the book yet: three are needed.";
  }
  const std::string found =
      rate.runs < kFew
          ? fmt::format("{} of {} timed runs, {:.1f} mL/min so far", rate.runs, kFew,
                        rate.mean.count())
          : fmt::format("{} timed runs: {:.1f} mL/min, spread {:.1f} %, the mean known to {:.1f} %",
                        rate.runs, rate.mean.count(), 100.0 * rate.spread, 100.0 * rate.ninety);
  switch (rate.verdict) {
    case RateRuns::Verdict::enough:
      return found + ".";
    case RateRuns::Verdict::more:
      return found + (rate.runs < kFew
                          ? "."
                          : fmt::format(". They differ by 3 % or more: make {} of them.", kMany));
    case RateRuns::Verdict::again:
      return found +
             ". They differ too much. Look for air in the line and for a worn or slipping tube; "
             "then make more: the newest five count.";
  }
  std::abort();
}

}  // namespace limegate::care
