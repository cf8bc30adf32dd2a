#include "dosing/spread.h"

#include <algorithm>
#include <chrono>
#include <cmath>

namespace limegate::dosing {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

constexpr std::size_t kQuarters = std::tuple_size_v<DayWeights>;
constexpr Duration kQuarter = 15min;
constexpr Duration kDay = 24h;
/// Levelling places the day's volume portion by portion, in times of a quarter's even share.
constexpr double kPortion = 0.1;
constexpr double kRounding = 1e-9;

double quarters_of(Duration duration) {
  return std::chrono::duration<double>(duration) / std::chrono::duration<double>(kQuarter);
}

/// How much of quarter `n` lies within the hours, 0 .. 1.
double overlap(const HoursOfDay& hours, std::size_t n) {
  const double from = static_cast<double>(n);
  double within = 0.0;
  // Over midnight, the hours end on the next day or began on the one before.
  for (const double day : {-static_cast<double>(kQuarters), 0.0}) {
    const double begin = quarters_of(hours.from) + day;
    const double end = begin + quarters_of(hours.length());
    within += std::max(0.0, std::min(end, from + 1.0) - std::max(begin, from));
  }
  return within;
}

}  // namespace

DayWeights weights_at_night(const HoursOfDay& night, double share) {
  const double length = quarters_of(night.length());
  const double at_night = share * kQuarters / length;
  const double by_day = (1.0 - share) * kQuarters / (kQuarters - length);
  DayWeights weights{};
  for (std::size_t n = 0; n < kQuarters; ++n) {
    const double within = overlap(night, n);
    weights[n] = at_night * within + by_day * (1.0 - within);
  }
  return weights;
}

DayWeights levelling_weights(const DayOfPh& day, double most) {
  // What a dose of one quarter still does so many quarters later, the same every day.
  std::array<double, kQuarters> left{};
  const double fades = quarters_of(day.fades);
  for (std::size_t later = 0; later < kQuarters; ++later) {
    left[later] = std::exp(-static_cast<double>(later) / fades) /
                  (1.0 - std::exp(-static_cast<double>(kQuarters) / fades));
  }
  // Each portion goes where it raises the lowest pH: where the expected pH, weighed by what the
  // portion will do to it, is least. That is steepest descent on the sum of squares of pH.
  DayWeights weights{};
  weights.fill(kLeastWeight);
  std::array<double, kQuarters> weighed{};
  std::array<double, kQuarters> together{};  // of the effects of two doses, so far apart
  for (std::size_t n = 0; n < kQuarters; ++n) {
    for (std::size_t later = 0; later < kQuarters; ++later) {
      weighed[n] += left[later] * day.undosed[(n + later) % kQuarters];
      together[n] += left[later] * left[(later + n) % kQuarters];
    }
  }
  const double room = std::max(most, 1.0);
  const double rise = day.day_rise.count() / static_cast<double>(kQuarters);
  for (double left_over = (1.0 - kLeastWeight) * kQuarters; left_over > kRounding;) {
    std::size_t best = kQuarters;
    for (std::size_t n = 0; n < kQuarters; ++n) {
      if (weights[n] < room - kRounding && (best == kQuarters || weighed[n] < weighed[best])) {
        best = n;
      }
    }
    if (best == kQuarters) {
      break;
    }
    const double portion = std::min({kPortion, room - weights[best], left_over});
    weights[best] += portion;
    left_over -= portion;
    for (std::size_t n = 0; n < kQuarters; ++n) {
      weighed[n] += portion * rise * together[(n + kQuarters - best) % kQuarters];
    }
  }
  return weights;
}

double weight_over(const DayWeights& weights, Duration time_of_day, Duration span) {
  const double from = quarters_of(time_of_day);
  const double to = from + quarters_of(span);
  double sum = 0.0;
  for (double at = from; at < to - 1e-12;) {
    const double next = std::min(std::floor(at + 1e-12) + 1.0, to);
    const auto quarter = static_cast<std::size_t>(std::floor(at + 1e-12)) % kQuarters;
    sum += weights[quarter] * (next - at);
    at = next;
  }
  return sum / (to - from);
}

double largest_weight(const DayWeights& weights, Duration span) {
  double most = 0.0;
  for (Duration from{}; from < kDay; from += 1min) {
    most = std::max(most, weight_over(weights, from, span));
  }
  return most;
}

void MissedVolume::add(Instant at, Millilitres volume) {
  if (volume > Millilitres{0.0}) {
    missed_.push_back({at, volume});
  }
}

Millilitres MissedVolume::pending(Instant now) {
  while (!missed_.empty() && now - missed_.front().at > kDay) {
    missed_.pop_front();
  }
  Millilitres sum;
  for (const Missed& missed : missed_) {
    sum += missed.volume;
  }
  return sum;
}

void MissedVolume::made_up(Millilitres volume) {
  while (!missed_.empty() && volume > Millilitres{0.0}) {
    const Millilitres part = std::min(missed_.front().volume, volume);
    volume -= part;
    missed_.front().volume -= part;
    if (!(missed_.front().volume > Millilitres{0.0})) {
      missed_.pop_front();
    }
  }
}

}  // namespace limegate::dosing
