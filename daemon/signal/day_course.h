#pragma once

#include <array>
#include <bitset>
#include <cstdint>
#include <optional>
#include <vector>

#include "units/time.h"

namespace limegate::signal {

/// The usual course of a value over the day: a mean for each quarter of an hour of the UTC day,
/// which forgets slowly; also a quarter that is no longer seen. It serves once it has seen a week,
/// and follows when the lights or the probe's calibration moved.
/// Units: those of the values given.   Memory: fixed.
class DayCourse {
 public:
  static constexpr int kQuarters = 96;
  static constexpr int kLearnedDays = 7;  ///< of each quarter, or of one close to it
  static constexpr int kMemoryDays = 14;  ///< a mean over about so many days

  struct Quarter {
    double mean = 0.0;
    int days = 0;  ///< that it was learned on, up to kMemoryDays
    friend bool operator==(const Quarter&, const Quarter&) = default;
  };
  using Quarters = std::array<Quarter, kQuarters>;

  DayCourse() = default;
  /// Goes on from what was stored; days out of range count as none.
  explicit DayCourse(const Quarters& stored);

  /// The whole course moved at once: the lights by so many quarters of an hour (positive: later),
  /// or the probe by an offset.
  struct Move {
    int quarters = 0;
    double offset = 0.0;
  };
  /// What a quarter of an hour that ended has changed.
  struct News {
    int quarter = 0;  ///< that was learned anew
    std::optional<Move> move;
    /// Quarters that the day which ended did not show, and that are known a little less.
    std::vector<int> faded = {};
  };
  /// Takes a good, undisturbed value. What the wall clock stepped within is not learned, nor what
  /// was seen for less than three minutes, nor anything while that clock is not trusted.
  std::optional<News> learn(Moment at, double value);

  [[nodiscard]] bool learned() const { return days_to_go_ == 0; }
  /// Days that the quarter known least well still lacks.
  [[nodiscard]] int days_to_go() const { return days_to_go_; }
  /// The usual value at that time of day, between the quarters' middles by a straight line. Absent
  /// where nothing within an hour is known.
  [[nodiscard]] std::optional<double> usual(WallTime at) const;
  /// The mean over the whole day. Absent while there are hours of which nothing is known.
  [[nodiscard]] std::optional<double> mean() const;
  /// Days that the quarter known best was learned on, up to kMemoryDays.
  [[nodiscard]] int days() const;
  [[nodiscard]] const Quarters& quarters() const { return quarters_; }

 private:
  struct Gathering {
    std::int64_t number = -1;  ///< quarters since 1970
    Moment first;
    Instant last;
    double sum = 0.0;
    int count = 0;
  };
  /// One day, quarter by quarter, as it was.
  struct Day {
    std::int64_t number = -1;
    std::array<double, kQuarters> values{};
    std::bitset<kQuarters> known;
  };
  void keep(int quarter, double value);
  void close_day(std::int64_t next, News& news);
  [[nodiscard]] std::vector<int> fade();
  [[nodiscard]] std::optional<Move> move_seen() const;
  void apply(const Move& move);
  [[nodiscard]] bool known_near(int quarter, int days) const;
  void count_days_to_go();

  Quarters quarters_{};
  int days_to_go_ = kLearnedDays;
  Gathering gathering_;
  Day day_;
  std::optional<Move> seen_yesterday_;
};

}  // namespace limegate::signal
