#pragma once

#include <array>
#include <deque>

#include "units/quantities.h"
#include "units/time.h"
#include "units/time_of_day.h"

namespace limegate::dosing {

/// How the day's volume is spread over the day.
enum class Spread {
  even,      ///< the same in each clear window
  night,     ///< a share of it within the hours of the night
  levelling  ///< where pH is expected lowest, so that its daily swing shrinks
};

/// How many times the even share each quarter of an hour of the day takes, from midnight on: not
/// below zero, one in the mean.
using DayWeights = std::array<double, 96>;

/// `share` (0 .. 1) of the volume within those hours, the rest outside.
[[nodiscard]] DayWeights weights_at_night(const HoursOfDay& night, double share);

/// Levelling gives no window less, in times of the even share: dosing that does nothing for hours
/// could not be told from one that stopped.
constexpr double kLeastWeight = 0.2;

/// What levelling goes by.
struct DayOfPh {
  std::array<double, 96> undosed;  ///< the usual pH of each quarter of an hour without doses
  PhChange day_rise;  ///< what the day's volume would do at once, without exchange with the air
  Duration fades;     ///< the air takes back what a dose did to pH with this time constant
};

/// Where pH is expected lowest, what was placed already and the air's exchange considered; nowhere
/// more than `most` times the even share (at least once).
[[nodiscard]] DayWeights levelling_weights(const DayOfPh& day, double most);

/// The mean over `span` (up to a day) from that time of day on.
[[nodiscard]] double weight_over(const DayWeights& weights, Duration time_of_day, Duration span);
/// The most that any such span has.
[[nodiscard]] double largest_weight(const DayWeights& weights, Duration span);

/// What windows of the last 24 hours missed. Older misses are dropped: a day's plan is not another
/// day's.
class MissedVolume {
 public:
  /// Times do not go backwards.
  void add(Instant at, Millilitres volume);
  [[nodiscard]] Millilitres pending(Instant now);
  /// So much was made up: the oldest first.
  void made_up(Millilitres volume);
  void forget() { missed_.clear(); }

 private:
  struct Missed {
    Instant at;
    Millilitres volume;
  };
  std::deque<Missed> missed_;
};

}  // namespace limegate::dosing
