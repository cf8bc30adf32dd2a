#include "signal/fading_sum.h"

#include <cmath>
#include <limits>

#include <gtest/gtest.h>

namespace limegate::signal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

constexpr Instant kStart{10h};

TEST(FadingSum, each_addition_fades_at_the_same_pace) {
  FadingSum sum{6h};
  EXPECT_EQ(sum.at(kStart), 0.0);
  sum.add(kStart, 0.02);
  EXPECT_EQ(sum.at(kStart), 0.02);
  EXPECT_NEAR(sum.at(kStart + 6h), 0.02 * std::exp(-1.0), 1e-12);
  sum.add(kStart + 6h, 0.05);
  EXPECT_NEAR(sum.at(kStart + 12h), 0.02 * std::exp(-2.0) + 0.05 * std::exp(-1.0), 1e-12);
  EXPECT_NEAR(sum.at(kStart + 600h), 0.0, 1e-12);
}

TEST(FadingSum, what_is_no_number_is_not_taken) {
  FadingSum sum{6h};
  sum.add(kStart, 0.02);
  sum.add(kStart + 1h, std::numeric_limits<double>::quiet_NaN());
  sum.add(kStart + 1h, std::numeric_limits<double>::infinity());
  EXPECT_NEAR(sum.at(kStart + 6h), 0.02 * std::exp(-1.0), 1e-12);
}

}  // namespace
}  // namespace limegate::signal
