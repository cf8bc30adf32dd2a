// Timed runs of a pump into a cylinder, worked by hand from CARE.md, section 8. The pump is a
// scenario of our own.

#include "care/rate_runs.h"

#include <chrono>
#include <vector>

#include <gtest/gtest.h>

#include "support/program.h"

namespace limegate::care {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using test::contains;
using Verdict = RateRuns::Verdict;

RateRuns of(const std::vector<double>& runs) {
  std::vector<MillilitresPerMinute> rates;
  rates.reserve(runs.size());
  for (const double run : runs) {
    rates.emplace_back(run);
  }
  return rate_of(rates);
}

// "100 mL B in 120 s: 0.6 %": the root of (1 / (√3 · 100))² + (0.2 / 120)² = 0.0060.
// By hand: class A 0.33 %; 250 mL of class B in 300 s (2 mL) 0.47 %.
TEST(RateRuns, one_run_is_known_to_what_cylinder_and_clock_can_tell) {
  EXPECT_NEAR(reading_share(Cylinder::class_b, Millilitres{100}, 120s), 0.0060, 0.00005);
  EXPECT_NEAR(reading_share(Cylinder::class_a, Millilitres{100}, 120s), 0.0033, 0.00005);
  EXPECT_NEAR(reading_share(Cylinder::class_b, Millilitres{250}, 300s), 0.0047, 0.00005);
  // A little in a large cylinder: 10 mL of 100 in 12 s is 5.77 % by volume and 1.67 % by time.
  EXPECT_NEAR(reading_share(Cylinder::class_b, Millilitres{10}, 12s), 0.0601, 0.0001);
}

// "90 % of the mean from range R: 1.0 R (3 runs), 0.41 R (5)".
TEST(RateRuns, the_mean_is_known_to_a_part_of_the_range) {
  const RateRuns three = of({49.5, 50.0, 50.5});
  EXPECT_DOUBLE_EQ(three.mean.count(), 50.0);
  EXPECT_NEAR(three.spread, 0.02, 1e-12);
  EXPECT_NEAR(three.ninety, 0.02, 1e-12);
  EXPECT_EQ(three.verdict, Verdict::enough);
  const RateRuns five = of({49.0, 50.0, 50.0, 50.0, 51.0});
  EXPECT_NEAR(five.spread, 0.04, 1e-12);
  EXPECT_NEAR(five.ninety, 0.0164, 1e-12);
  EXPECT_EQ(five.verdict, Verdict::enough);
}

// "below 3 % spread or again": at 3 % and above five are made.
TEST(RateRuns, three_serve_below_three_per_cent_and_five_above_it) {
  EXPECT_EQ(of({}).verdict, Verdict::more);
  EXPECT_EQ(of({50.0}).verdict, Verdict::more);
  EXPECT_EQ(of({50.0, 50.0}).verdict, Verdict::more);
  EXPECT_EQ(of({49.26, 50.0, 50.74}).verdict, Verdict::enough) << "2.96 %";
  EXPECT_EQ(of({49.24, 50.0, 50.76}).verdict, Verdict::more) << "3.04 %";
  EXPECT_EQ(of({49.0, 50.0, 51.0, 50.0}).verdict, Verdict::more);
  EXPECT_EQ(of({45.0, 50.0, 51.0, 50.0, 50.0}).verdict, Verdict::again) << "12 %, so 5 %";
  EXPECT_TRUE(contains(sentence_of(of({49.0, 50.0, 51.0})), "make 5 of them"));
  EXPECT_TRUE(contains(sentence_of(of({45.0, 50.0, 51.0, 50.0, 50.0})), "Look for air"));
}

TEST(RateRuns, the_newest_five_count) {
  const RateRuns rate = of({45.0, 50.0, 51.0, 50.0, 50.0, 50.0});
  EXPECT_EQ(rate.runs, 5U);
  EXPECT_EQ(rate.verdict, Verdict::enough);
  EXPECT_DOUBLE_EQ(rate.mean.count(), 50.2);
}

}  // namespace
}  // namespace limegate::care
