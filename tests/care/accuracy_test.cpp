// The short form of bench_demand: forty series of each kind, whose truth is known. The bounds are
// the issue's: on the volume that holds at most twice the error of one who knows the noise, or 4 %,
// and never above the rule of thumb; intervals that are honest, and narrow enough to tell
// something.

#include <algorithm>
#include <array>

#include <gtest/gtest.h>

#include "benchmarks/demand_score.h"

namespace limegate::bench {
namespace {

Score sum_of(Kind kind, int series, const Drawing& how) {
  Score all;
  for (int i = 0; i < series; ++i) {
    all.add(score_of(kind, 100 + static_cast<std::uint64_t>(i), how));
  }
  return all;
}

void expect_accurate(int series, const Drawing& how) {
  Score all;
  for (const Kind kind : kKinds) {
    SCOPED_TRACE(kKindNames[static_cast<std::size_t>(kind)]);
    const Score one = sum_of(kind, series, how);
    const Figure& ours = one.ours.hold;
    const double error = ours.mean(ours.error);
    EXPECT_LE(error, std::max(4.0, 2.0 * one.knows.hold.mean(one.knows.hold.error)));
    EXPECT_LE(error, one.thumb.hold.mean(one.thumb.hold.error));
    EXPECT_GE(ours.covers_percent(), 75.0);
    EXPECT_GE(one.ours.demand.covers_percent(), 75.0);
    EXPECT_GE(one.ours.next.covers_percent(), 75.0);
    all.add(one);
  }
  for (const Figure* figure : {&all.ours.hold, &all.ours.demand, &all.ours.next}) {
    EXPECT_GE(figure->covers_percent(), 85.0);
    EXPECT_LE(figure->covers_percent(), 98.5);
  }
  const auto score = [](const Figure& figure) { return figure.mean(figure.score); };
  EXPECT_LE(score(all.ours.hold), 2.2 * score(all.knows.hold));
  EXPECT_LE(score(all.ours.demand), 2.0 * score(all.knows.demand));
  EXPECT_LE(score(all.ours.next), 2.0 * score(all.knows.next));
}

TEST(Accuracy, of_the_issues_series) { expect_accurate(40, {}); }

TEST(Accuracy, with_unknown_kits_large_slips_and_odd_hours) { expect_accurate(15, wide_drawing()); }

// Where demand stepped since the last test but one, nobody knows much: the interval must say so.
TEST(Accuracy, of_intervals_just_after_a_step) {
  for (const Kind kind : {Kind::step_up, Kind::die_off}) {
    const Score one = sum_of(kind, 25, late_drawing());
    EXPECT_GE(one.ours.hold.covers_percent(), 65.0) << kKindNames[static_cast<std::size_t>(kind)];
  }
}

TEST(Accuracy, a_step_is_known_after_two_or_three_tests) {
  int ours = 0;
  int knows = 0;
  for (const Kind kind : {Kind::step_up, Kind::die_off}) {
    for (std::uint64_t seed = 0; seed < 10; ++seed) {
      const Score one = step_score_of(kind, seed, {});
      ours += one.ours.tests_after_step;
      knows += one.knows.tests_after_step;
    }
  }
  EXPECT_LE(ours, 20 * 3);
  EXPECT_LE(ours, 2 * knows);
}

}  // namespace
}  // namespace limegate::bench
