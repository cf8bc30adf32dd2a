#include "signal/fading_sum.h"

#include <cmath>
#include <limits>

#include <gtest/gtest.h>

namespace limegate::signal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

constexpr Instant kStart{10h};
constexpr FadingSum::Pace kPace{5min, 6h};

TEST(FadingSum, one_addition_mixes_in_and_fades) {
  FadingSum sum{kPace};
  EXPECT_EQ(sum.at(kStart), 0.0);
  sum.add(kStart, 0.02);
  EXPECT_EQ(sum.at(kStart), 0.0) << "nothing has mixed in yet";
  EXPECT_NEAR(sum.at(kStart + 5min), 0.02 * (std::exp(-5.0 / 360) - std::exp(-1.0)), 1e-12);
  EXPECT_NEAR(sum.at(kStart + 6h), 0.02 * std::exp(-1.0), 1e-12);
  EXPECT_NEAR(sum.at(kStart + 600h), 0.0, 1e-12);
}

TEST(FadingSum, two_additions_do_what_both_do_alone) {
  FadingSum both{kPace};
  FadingSum first{kPace};
  FadingSum second{kPace};
  both.add(kStart, 0.02);
  first.add(kStart, 0.02);
  both.add(kStart + 20min, 0.05);
  second.add(kStart + 20min, 0.05);
  for (const Duration later : {20min, 21min, 60min, 1440min}) {
    EXPECT_NEAR(both.at(kStart + later), first.at(kStart + later) + second.at(kStart + later),
                1e-12);
  }
}

TEST(FadingSum, what_is_no_number_is_not_taken) {
  FadingSum sum{kPace};
  sum.add(kStart, 0.02);
  sum.add(kStart, std::numeric_limits<double>::quiet_NaN());
  sum.add(kStart, std::numeric_limits<double>::infinity());
  EXPECT_NEAR(sum.at(kStart + 6h), 0.02 * std::exp(-1.0), 1e-12);
}

}  // namespace
}  // namespace limegate::signal
