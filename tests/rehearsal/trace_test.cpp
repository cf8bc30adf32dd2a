#include "rehearsal/trace.h"

#include <chrono>
#include <numeric>

#include <gtest/gtest.h>

namespace limegate::rehearsal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

/// Seconds with one peak, one low, a flow of 1 mL each, a stir and a hold now and then.
Trace traced(std::int64_t seconds, std::int64_t peak) {
  const rules::Holds held{rules::StirrerRunning{}};
  const rules::Holds open;
  Trace trace;
  for (std::int64_t second = 0; second < seconds; ++second) {
    const double ph = second == peak ? 9.0 : second == peak / 2 ? 7.5 : 8.2;
    const bool stirs = second % 7 == 0;
    const std::optional<double> shown = second % 2 == 0 ? std::optional{ph + 0.1} : std::nullopt;
    trace.add(
        {ph, shown, 1.0, 100.0 - static_cast<double>(second) * 1e-6, stirs, stirs ? &held : &open});
  }
  return trace;
}

class Length : public testing::TestWithParam<std::int64_t> {};
INSTANTIATE_TEST_SUITE_P(Seconds, Length,
                         testing::Values(1, 59, 60, 61, 119'999, 120'000, 120'001, 240'001,
                                         1'000'000));

TEST_P(Length, keeps_peaks_and_sums_in_few_points) {
  const std::int64_t peak = GetParam() * 2 / 3;
  const Trace trace = traced(GetParam(), peak);
  ASSERT_LE(trace.points().size(), Trace::kPointsMax);
  const auto covered = static_cast<std::int64_t>(trace.points().size()) * trace.step().count();
  EXPECT_GE(covered, GetParam());
  EXPECT_LT(covered - trace.step().count(), GetParam());
  double high = 0;
  double low = 14;
  double shown = 0;
  double delivered = 0;
  std::int64_t stirred = 0;
  std::int64_t held = 0;
  for (const Trace::Point& point : trace.points()) {
    high = std::max(high, point.ph_high);
    low = std::min(low, point.ph_low);
    shown = std::max(shown, point.shown_high.value_or(0));
    delivered += point.delivered_ml;
    stirred += point.stirred_s;
    held += std::accumulate(point.held_s.begin(), point.held_s.end(), std::int64_t{0});
  }
  EXPECT_EQ(high, 9.0);
  EXPECT_EQ(low, peak / 2 == peak ? 9.0 : 7.5);
  EXPECT_DOUBLE_EQ(shown, peak % 2 == 0 ? 9.1 : 8.3);
  EXPECT_EQ(delivered, static_cast<double>(GetParam()));
  EXPECT_EQ(stirred, (GetParam() + 6) / 7);
  EXPECT_EQ(held, stirred);
}

TEST(Trace, tells_where_the_peak_was) {
  const Trace trace = traced(500'000, 400'000);
  const auto at = static_cast<std::size_t>(400'000 / trace.step().count());
  EXPECT_EQ(trace.points()[at].ph_high, 9.0);
  EXPECT_LT(trace.points()[at + 1].ph_high, 9.0);
}

TEST(Trace, of_a_silent_probe_shows_nothing) {
  Trace trace;
  trace.add({8.2, std::nullopt, 0.0, 1.0, false, nullptr});
  EXPECT_FALSE(trace.points().front().shown_low);
  EXPECT_TRUE(trace.codes().empty());
}

}  // namespace
}  // namespace limegate::rehearsal
