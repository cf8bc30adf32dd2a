#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <random>
#include <vector>

#include "care/book.h"

/// Series of tests whose truth is known, for what measures the estimate of demand. Tanks and
/// keepers are a scenario of our own.
namespace limegate::bench {

enum class Kind { constant, drifting, step_up, die_off, irregular, slips };
constexpr std::array kKinds{Kind::constant, Kind::drifting,  Kind::step_up,
                            Kind::die_off,  Kind::irregular, Kind::slips};
constexpr std::array kKindNames{"constant",      "drifting",  "step up +50 %",
                                "die-off -60 %", "irregular", "slips 5 %"};

/// How the series are drawn.
struct Drawing {
  double kit_sd_low = 0.2, kit_sd_high = 0.2;  ///< dKH
  double demand_low = 0.3, demand_high = 1.5;  ///< dKH a day
  double step_from = 0.5, step_to = 0.75;      ///< where in the series demand steps
  double slip_sd = 1.5;                        ///< dKH
  bool odd_hours = false;  ///< tests at any hour of the day, rows that begin at odd ones
};

/// Kits of unknown precision, large slips, and nothing at its usual hour.
inline Drawing wide_drawing() {
  Drawing how;
  how.kit_sd_low = 0.1;
  how.kit_sd_high = 0.3;
  how.demand_low = 0.2;
  how.demand_high = 3.0;
  how.slip_sd = 3.0;
  how.odd_hours = true;
  return how;
}
/// Steps in the last fifth: one or two tests after.
inline Drawing late_drawing() {
  Drawing how;
  how.step_from = 0.8;
  how.step_to = 1.0;
  return how;
}

struct Test {
  double day;
  double reads;
  bool slip;
};

/// One series, and what nobody knows of it. In days from its start, and dKH.
struct Series {
  Kind kind = Kind::constant;
  std::vector<Test> tests;           ///< each week, the last one on day `last`
  std::vector<double> volumes;       ///< nominal supply of each day, dKH
  std::vector<double> given_before;  ///< each of them: the sum of those before it
  double rows_begin = 0.0;           ///< the day on which the first of these begins
  double last = 0.0;
  double next = 0.0;  ///< the day of the test that is foretold
  double next_reads = 0.0;
  double kit_sd = 0.0;
  double supply_error = 0.0;
  double step_day = 0.0;      ///< past `next`: there is none
  double first_demand = 0.0;  ///< dKH a day
  double demand = 0.0;        ///< on day `last`

  [[nodiscard]] double hold() const { return demand / (1.0 + supply_error); }
};

/// Nominal supply up to a day, from the first row on; before it and after the last it is theirs.
inline double supplied(const Series& series, double day) {
  const double since = day - series.rows_begin;
  const auto last = static_cast<double>(series.volumes.size() - 1);
  const double row = std::clamp(std::floor(since), 0.0, last);
  const auto index = static_cast<std::size_t>(row);
  return series.given_before[index] + (since - row) * series.volumes[index];
}

/// Draws one after the other; the same seed draws the same.
class Draw {
 public:
  Draw(Kind kind, std::uint64_t seed, const Drawing& how)
      : random_(seed * 6 + static_cast<std::uint64_t>(kind)), how_(how) {
    series_.kind = kind;
  }

  Series series() {
    begin();
    keep();
    live();
    return series_;
  }

 private:
  double between(double low, double high) {
    return std::uniform_real_distribution{low, high}(random_);
  }
  double normal(double sd) { return std::normal_distribution{0.0, sd}(random_); }

  void begin() {
    length_ = std::floor(between(40.0, 71.0));
    series_.kit_sd = between(how_.kit_sd_low, how_.kit_sd_high);
    series_.supply_error = between(-0.07, 0.07);
    bias_ = between(0.0, 1.0) < 0.5 ? 0.5 : -0.5;
    series_.first_demand = std::exp(between(std::log(how_.demand_low), std::log(how_.demand_high)));
    series_.rows_begin = how_.odd_hours ? between(-0.5, 0.5) : 0.0;
    const double hour = between(0.3, 0.9);
    for (double day = 0.0; day + 1.0 < length_;) {
      days_.push_back(day + (how_.odd_hours ? between(0.3, 0.95) : hour));
      day += series_.kind == Kind::irregular ? std::floor(between(3.0, 15.0)) : 7.0;
    }
    series_.last = days_.back();
    series_.next = series_.last + 7.0;
    const bool steps = series_.kind == Kind::step_up || series_.kind == Kind::die_off;
    series_.step_day =
        steps ? series_.last * between(how_.step_from, how_.step_to) : series_.next + 1.0;
  }

  /// The keeper gives about what is needed, and tries another volume each second week.
  void keep() {
    double volume = series_.first_demand * between(0.85, 1.15);
    double day = series_.rows_begin;
    while (day < series_.last) {
      if (series_.volumes.size() % 14 == 13) {
        volume = std::max(0.2 * series_.first_demand, volume * between(0.88, 1.12));
      }
      series_.given_before.push_back(
          series_.volumes.empty() ? 0.0 : series_.given_before.back() + series_.volumes.back());
      series_.volumes.push_back(volume);
      day += 1.0;
    }
  }

  /// In steps of an hour.
  void live() {
    constexpr double hour = 1.0 / 24.0;
    double level = between(7.8, 9.0);
    double wander = 1.0;
    std::size_t tested = 0;
    double now = 0.0;
    while (now < series_.next) {
      const double stepped = now < series_.step_day          ? 1.0
                             : series_.kind == Kind::step_up ? 1.5
                                                             : 0.4;
      wander += series_.kind == Kind::drifting ? normal(0.01 * std::sqrt(hour)) : 0.0;
      const double demand = series_.first_demand * std::max(0.1, wander) * stepped;
      series_.demand = now <= series_.last ? demand : series_.demand;
      const double rise = (supplied(series_, now + hour) - supplied(series_, now)) / hour *
                              (1.0 + series_.supply_error) -
                          demand;
      for (; tested < days_.size() && days_[tested] < now + hour; ++tested) {
        test(days_[tested], level + bias_ + (days_[tested] - now) * rise);
      }
      level += hour * rise;
      now += hour;
    }
    series_.next_reads = level + bias_ + normal(series_.kit_sd);
  }

  void test(double day, double level) {
    const bool slip = series_.kind == Kind::slips && between(0.0, 1.0) < 0.05;
    const double reads = level + normal(series_.kit_sd) + (slip ? normal(how_.slip_sd) : 0.0);
    series_.tests.push_back({day, reads, slip});
  }

  std::mt19937_64 random_;
  Drawing how_;
  Series series_;
  std::vector<double> days_;
  double length_ = 0.0;
  double bias_ = 0.0;
};

inline WallTime time_of(double day) {
  return WallTime{std::chrono::sys_days{std::chrono::year{2026} / 3 / 1}} +
         seconds_of(86400.0 * day);
}

/// The book that the keeper has on a day.
inline care::Book book_of(const Series& series, double per_millilitre, double day) {
  care::Book book;
  for (std::size_t i = 0; i < series.volumes.size(); ++i) {
    const double begins = series.rows_begin + static_cast<double>(i);
    if (begins <= day) {
      book.entries.push_back(
          {time_of(begins), care::LimewaterGiven{Millilitres{series.volumes[i] / per_millilitre}}});
    }
  }
  for (const Test& test : series.tests) {
    if (test.day <= day) {
      book.entries.push_back({time_of(test.day), care::AlkalinityTest{Dkh{test.reads}}});
    }
  }
  std::stable_sort(book.entries.begin(), book.entries.end(),
                   [](const care::Entry& a, const care::Entry& b) { return a.at < b.at; });
  return book;
}

}  // namespace limegate::bench
