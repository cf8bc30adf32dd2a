#include "report/axis.h"

#include <algorithm>
#include <array>
#include <chrono>
#include <cmath>
#include <cstdint>

#include <fmt/chrono.h>
#include <fmt/format.h>

namespace limegate::report {
namespace {

constexpr std::int64_t kHour = 3600;
constexpr std::int64_t kDay = 24 * kHour;
constexpr int kTimeMarks = 10;
/// What people count time in.
constexpr std::array<std::int64_t, 18> kTimeSteps{
    60,   300,      600,      1800,      kHour,     2 * kHour, 3 * kHour,  6 * kHour,  12 * kHour,
    kDay, 2 * kDay, 5 * kDay, 10 * kDay, 30 * kDay, 91 * kDay, 183 * kDay, 365 * kDay, 3650 * kDay};

std::int64_t time_step(std::int64_t span) {
  const auto* const fits =
      std::find_if(kTimeSteps.begin(), kTimeSteps.end(),
                   [&](std::int64_t step) { return span / step <= kTimeMarks; });
  return fits == kTimeSteps.end() ? kTimeSteps.back() : *fits;
}

/// A mark at each whole step of a time, with the words for it.
template <class Words>
Axis time_axis(std::int64_t from, std::int64_t to, const Words& words) {
  const std::int64_t last = std::max(to, from + 1);
  const std::int64_t step = time_step(last - from);
  Axis axis{static_cast<double>(from), static_cast<double>(last), {}};
  for (std::int64_t at = (from + step - 1) / step * step; at <= last; at += step) {
    axis.ticks.push_back({static_cast<double>(at), words(at, step)});
  }
  return axis;
}

std::string clock_words(std::int64_t second) {
  return fmt::format("{:02}:{:02}", second % kDay / 3600, second / 60 % 60);
}

std::int64_t seconds(WallTime at) {
  return std::chrono::floor<std::chrono::seconds>(at.time_since_epoch()).count();
}

/// 1, 2 or 5 times a power of ten, so that at most so many of them make the span.
double round_step(double span, int steps) {
  const double least = span / steps;
  const double power = std::pow(10.0, std::floor(std::log10(least)));
  for (const double times : {1.0, 2.0, 5.0}) {
    if (times * power >= least * (1.0 - 1e-9)) {
      return times * power;
    }
  }
  return 10.0 * power;
}

}  // namespace

Axis value_axis(double low, double high, int steps) {
  if (!std::isfinite(low) || !std::isfinite(high)) {
    low = 0.0;
    high = 1.0;
  }
  if (!(high > low)) {
    const double about = std::max(std::abs(low) * 0.05, 0.5);
    low -= about;
    high += about;
  }
  // Its ends are whole steps: one more or less makes a wider step necessary.
  double step = round_step(high - low, steps);
  for (int wider = steps; std::ceil(high / step - 1e-9) - std::floor(low / step + 1e-9) > steps;) {
    step = round_step(high - low, --wider);
  }
  const double first = std::floor(low / step + 1e-9), last = std::ceil(high / step - 1e-9);
  Axis axis{first * step, last * step, {}};
  const int decimals = std::max(0, static_cast<int>(std::ceil(-std::log10(step) - 1e-9)));
  const auto steps_within = std::lround(last - first);
  for (long i = 0; i <= steps_within; ++i) {
    const double at = (first + static_cast<double>(i)) * step;
    axis.ticks.push_back({at, fmt::format("{:.{}f}", at + 0.0, decimals)});
  }
  return axis;
}

Axis clock_axis(WallTime from, WallTime to) {
  return time_axis(seconds(from), seconds(to), [](std::int64_t at, std::int64_t step) {
    const std::chrono::sys_seconds moment{std::chrono::seconds{at}};
    if (step > 30 * kDay) {
      return fmt::format("{:%b %Y}", moment);
    }
    return at % kDay == 0 ? fmt::format("{:%b %d}", moment) : clock_words(at);
  });
}

Axis course_axis(Duration lasting) {
  const auto last = std::chrono::duration_cast<std::chrono::seconds>(lasting).count();
  return time_axis(0, last, [](std::int64_t at, std::int64_t /*step*/) {
    return at % kDay == 0 ? fmt::format("day {}", at / kDay + 1) : clock_words(at);
  });
}

Axis day_axis() {
  Axis axis{0.0, static_cast<double>(kDay), {}};
  for (int hour = 0; hour <= 24; hour += 3) {
    axis.ticks.push_back({hour * 3600.0, fmt::format("{:02}:00", hour)});
  }
  return axis;
}

}  // namespace limegate::report
