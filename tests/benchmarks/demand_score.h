#pragma once

#include <cmath>
#include <cstdint>
#include <cstdlib>

#include "benchmarks/demand_rivals.h"
#include "benchmarks/hidden_demand.h"
#include "care/course.h"
#include "care/estimator.h"

/// How well series of hidden truth are estimated: by ours, by one who knows the noise (a), and by
/// the rule of thumb (b).
namespace limegate::bench {

inline constexpr double kPerMillilitre = 0.000285;  ///< dKH: 40.6 meq/L (25 °C) into 400 L

/// One figure over many series.
struct Figure {
  double error = 0.0;  ///< sums
  double width = 0.0;
  double score = 0.0;
  int covers = 0;
  int runs = 0;

  /// Errors and widths count in `unit`. The score is width plus 20 times what the interval misses
  /// the truth by, which an honest and narrow interval makes least (Gneiting & Raftery 2007,
  /// 10.1198/016214506000001437, equation 43).
  void add(const care::Estimate& said, double truth, double unit) {
    const double missed = std::max({0.0, said.ninety.low - truth, truth - said.ninety.high});
    error += std::abs(said.median - truth) / unit;
    width += (said.ninety.high - said.ninety.low) / unit;
    score += (said.ninety.high - said.ninety.low + 20.0 * missed) / unit;
    covers += missed > 0.0 ? 0 : 1;
    ++runs;
  }
  void add(const Figure& other) {
    error += other.error;
    width += other.width;
    score += other.score;
    covers += other.covers;
    runs += other.runs;
  }
  [[nodiscard]] double mean(double sum) const { return sum / runs; }
  [[nodiscard]] double covers_percent() const { return 100.0 * covers / runs; }
};

/// All figures of one estimator.
struct Figures {
  Figure demand, hold, next;
  int tests_after_step = 0;  ///< until the volume that holds is within 15 %

  void add(const Figures& other) {
    demand.add(other.demand);
    hold.add(other.hold);
    next.add(other.next);
    tests_after_step += other.tests_after_step;
  }
};

struct Score {
  Figures ours, knows, thumb;

  void add(const Score& other) {
    ours.add(other.ours);
    knows.add(other.knows);
    thumb.add(other.thumb);
  }
};

inline care::Estimates ours_on(const Series& series, double day, double next) {
  const care::Book book = book_of(series, kPerMillilitre, day);
  const care::Site site{Litres{400}, Millilitres{8000}, Millilitres{8000}, Dkh{kPerMillilitre}};
  const care::Course course{book, site, time_of(day)};
  auto estimates = care::estimate(book, course, time_of(day), time_of(next));
  if (!estimates) {
    std::abort();
  }
  return std::move(*estimates);
}

inline void add_all(Figures& figures, const Series& series, const care::Estimate& demand,
                    const care::Estimate& hold, const care::Estimate& next) {
  figures.demand.add(demand, series.demand, series.demand / 100.0);
  figures.hold.add(hold, series.hold(), series.hold() / 100.0);
  figures.next.add(next, series.next_reads, 1.0);
}

/// Of one series, at its end.
inline Score score_of(Kind kind, std::uint64_t seed, const Drawing& how) {
  const Series series = Draw{kind, seed, how}.series();
  Score score;
  const care::Estimates ours = ours_on(series, series.last, series.next);
  add_all(score.ours, series, ours.now.demand(), ours.now.hold(), ours.next.reading());
  const Knower knower{series, series.last};
  add_all(score.knows, series, knower.demand(), knower.hold(), knower.reading());
  const care::Estimate thumb = normal_estimate(rule_of_thumb(series, series.last), 0.0);
  const double reads = series.tests.back().reads + supplied(series, series.next) -
                       supplied(series, series.last) - 7.0 * thumb.median;
  add_all(score.thumb, series, thumb, thumb, normal_estimate(reads, 0.0));
  return score;
}

/// Tests after the step until an estimator is within 15 %; one more than there are, if never.
template <class Hold>
int tests_until_known(const Series& series, const Hold& hold_on) {
  int count = 0;
  for (const Test& test : series.tests) {
    if (test.day <= series.step_day) {
      continue;
    }
    ++count;
    if (std::abs(hold_on(test.day) / series.hold() - 1.0) <= 0.15) {
      return count;
    }
  }
  return count + 1;
}

/// Only that, of one series with a step.
inline Score step_score_of(Kind kind, std::uint64_t seed, const Drawing& how) {
  const Series series = Draw{kind, seed, how}.series();
  Score score;
  score.ours.tests_after_step = tests_until_known(
      series, [&](double day) { return ours_on(series, day, day).now.hold().median; });
  score.knows.tests_after_step = tests_until_known(series, [&](double day) {
    return Knower{series, day}.hold().median;
  });
  score.thumb.tests_after_step =
      tests_until_known(series, [&](double day) { return rule_of_thumb(series, day); });
  return score;
}

}  // namespace limegate::bench
