#include "units/quantity.h"

#include <cmath>
#include <limits>

#include <gtest/gtest.h>

#include "units/quantities.h"

namespace limegate {
namespace {

using namespace literals;  // NOLINT(google-build-using-namespace): literals have no other way in

template <class A, class B>
concept Addable = requires(A a, B b) {
  a + b;
};

static_assert(!Addable<Ph, Ph>, "two positions on the pH scale have no sum");
static_assert(!Addable<Celsius, PhChange>, "a pH difference is no temperature");
static_assert(!Addable<Millilitres, Litres>, "units are converted by name, never by accident");
static_assert(Addable<Ph, PhChange>);

TEST(Quantity, adds_subtracts_and_scales) {
  EXPECT_EQ((1.5_mL + 0.5_mL).count(), 2.0);
  EXPECT_EQ((1.5_mL - 0.5_mL).count(), 1.0);
  EXPECT_EQ((1.5_mL * 2.0).count(), 3.0);
  EXPECT_EQ(3.0_mL / 1.5_mL, 2.0);
  EXPECT_EQ(to_millilitres(2.0_L).count(), 2000.0);
}

TEST(Quantity, not_a_number_compares_false_with_everything) {
  const Millilitres nan{std::numeric_limits<double>::quiet_NaN()};
  EXPECT_FALSE(nan < 1.0_mL);
  EXPECT_FALSE(nan >= 1.0_mL);
  EXPECT_FALSE(nan == nan);
}

TEST(Point, subtracts_to_a_difference) {
  EXPECT_NEAR((8.3_pH - 8.1_pH).count(), 0.2, 1e-12);
  EXPECT_EQ((8.0_pH + PhChange{0.25}).count(), 8.25);
}

}  // namespace
}  // namespace limegate
