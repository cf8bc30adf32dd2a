#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include "benchmarks/hidden_demand.h"
#include "care/mixture.h"

/// What the estimate of demand is measured beside. Code of its own: least squares over all tests at
/// once, no filter.
namespace limegate::bench {

inline care::Estimate normal_estimate(double mean, double sd) {
  constexpr double ninety = 1.6449;
  return {mean, {mean - ninety * sd, mean + ninety * sd}};
}

inline std::vector<Test> seen_on(const Series& series, double day) {
  std::vector<Test> seen;
  for (const Test& test : series.tests) {
    if (test.day <= day) {
      seen.push_back(test);
    }
  }
  return seen;
}

/// Supply less what the level rose by, between the last two tests: demand and, as the supply's
/// error is unknown to it, what holds.
inline double rule_of_thumb(const Series& series, double day) {
  const std::vector<Test> seen = seen_on(series, day);
  const Test& a = seen[seen.size() - 2];
  const Test& b = seen.back();
  return (supplied(series, b.day) - supplied(series, a.day) - (b.reads - a.reads)) /
         (b.day - a.day);
}

/// One who knows the noise, the drift, the moment of the step, and which tests are slips: normal
/// numbers that are known together, of which some are then seen.
class Knower {
 public:
  Knower(const Series& series, double day) : series_(series) {
    seen_ = seen_on(series, day);
    std::erase_if(seen_, [](const Test& test) { return test.slip; });
    first_ = seen_.front().day;
    stepped_ = series.step_day < day;
    drift_ = series.kind == Kind::drifting ? std::pow(0.01 * series.first_demand, 2) : 0.0;
    for (const Test& test : seen_) {
      lines_.push_back(level_on(test.day));
    }
    lines_.push_back({{0.0, 1.0, stepped_ ? 1.0 : 0.0, 0.0}, 0.0, day - first_});
    lines_.push_back({{0.0, 0.0, 0.0, 1.0}, 0.0, 0.0});
    lines_.push_back(level_on(series.next));
    know();
    for (std::size_t i = 0; i < seen_.size(); ++i) {
      see(i, seen_[i].reads);
    }
  }

  [[nodiscard]] care::Estimate demand() const { return of(seen_.size(), 0.0); }
  [[nodiscard]] care::Estimate hold() const {
    const std::size_t d = seen_.size();
    const std::size_t e = d + 1;
    const double hold = mean_[d] / (1.0 + mean_[e]);
    const double variance = c_[d][d] - 2.0 * hold * c_[d][e] + hold * hold * c_[e][e];
    return normal_estimate(hold, std::sqrt(variance) / (1.0 + mean_[e]));
  }
  [[nodiscard]] care::Estimate reading() const {
    return of(seen_.size() + 2, series_.kit_sd * series_.kit_sd);
  }

 private:
  /// A number as a sum of first level, demand, step and supply error; and of the drift's integral
  /// over so many days, and its value after so many.
  struct Line {
    std::array<double, 4> of;
    double integral;
    double value;
  };
  [[nodiscard]] Line level_on(double day) const {
    const double after = stepped_ ? std::max(0.0, day - std::max(first_, series_.step_day)) : 0.0;
    return {{1.0, first_ - day, -after, supplied(series_, day) - supplied(series_, first_)},
            day - first_,
            0.0};
  }

  /// Of a random walk of variance 1 a day: two integrals, two values, an integral and a value.
  static double integrals(double a, double b) {
    const double less = std::min(a, b);
    return less * less * (3.0 * std::max(a, b) - less) / 6.0;
  }
  static double integral_and_value(double integral, double value) {
    const double less = std::min(integral, value);
    return less * less / 2.0 + std::max(0.0, integral - less) * less;
  }

  void know() {
    const std::array<double, 4> prior{10.0, 5.0, 0.6 * series_.first_demand, 0.0404};
    c_.assign(lines_.size(), std::vector<double>(lines_.size()));
    for (std::size_t i = 0; i < lines_.size(); ++i) {
      const Line& a = lines_[i];
      // The level's line in the supply error is the supply itself: what is certain of it.
      mean_.push_back(a.of[0] > 0.0 ? a.of[3] : 0.0);
      for (std::size_t j = 0; j < lines_.size(); ++j) {
        const Line& b = lines_[j];
        for (std::size_t k = 0; k < prior.size(); ++k) {
          c_[i][j] += a.of[k] * b.of[k] * prior[k] * prior[k];
        }
        c_[i][j] += drift_ * (integrals(a.integral, b.integral) + std::min(a.value, b.value) -
                              integral_and_value(a.integral, b.value) -
                              integral_and_value(b.integral, a.value));
      }
      c_[i][i] += i < seen_.size() ? series_.kit_sd * series_.kit_sd : 0.0;
    }
  }

  void see(std::size_t i, double value) {
    const std::vector<double> with = c_[i];
    const double surprise = (value - mean_[i]) / with[i];
    for (std::size_t j = 0; j < with.size(); ++j) {
      mean_[j] += with[j] * surprise;
      for (std::size_t k = 0; k < with.size(); ++k) {
        c_[j][k] -= with[j] * with[k] / with[i];
      }
    }
  }

  [[nodiscard]] care::Estimate of(std::size_t i, double more_variance) const {
    return normal_estimate(mean_[i], std::sqrt(c_[i][i] + more_variance));
  }

  const Series& series_;
  std::vector<Test> seen_;
  double first_ = 0.0;
  bool stepped_ = false;
  double drift_ = 0.0;  ///< dKH²/day² a day
  std::vector<Line> lines_;
  std::vector<double> mean_;
  std::vector<std::vector<double>> c_;
};

}  // namespace limegate::bench
