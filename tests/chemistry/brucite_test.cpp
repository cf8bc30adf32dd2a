#include "chemistry/brucite.h"

#include <cmath>
#include <limits>

#include <gtest/gtest.h>

namespace limegate::chemistry {
namespace {

SeawaterConstants sea(double salinity, double celsius) {
  return *seawater_constants(Salinity{salinity}, Celsius{celsius});
}

// Brucite falls out of seawater from a pH of 9.5 to 10 on (common practice); it is saturated a
// little below that (from memory: 9.3 to 9.5 at 25 degC).
TEST(Brucite, is_saturated_a_little_below_where_it_is_seen) {
  EXPECT_LT(omega_brucite(sea(35, 25), Ph{9.3}), 1.0);
  EXPECT_GT(omega_brucite(sea(35, 25), Ph{9.5}), 1.0);
  EXPECT_GT(omega_brucite(sea(35, 25), Ph{10.0}), 10.0);
  EXPECT_LT(omega_brucite(sea(35, 25), Ph{8.4}), 0.02) << "far from it in any tank that is well";
}

// Mg(OH)2: two hydroxides, so half a pH is a factor of ten.
TEST(Brucite, goes_by_the_square_of_hydroxide_and_by_magnesium) {
  const double here = omega_brucite(sea(35, 25), Ph{9.0});
  EXPECT_NEAR(omega_brucite(sea(35, 25), Ph{9.5}) / here, 10.0, 1e-9);
  EXPECT_NEAR(omega_brucite(sea(28, 25), Ph{9.0}) / here, 0.8, 1e-9);
}

// It dissolves with heat given off, so that warm water holds less (from memory), and pH of the
// same water falls with warmth.
TEST(Brucite, is_saturated_at_a_lower_ph_where_it_is_warm) {
  EXPECT_GT(omega_brucite(sea(35, 30), Ph{9.4}), omega_brucite(sea(35, 20), Ph{9.4}));
}

TEST(Brucite, of_what_is_no_number_is_no_number) {
  EXPECT_TRUE(std::isnan(omega_brucite(sea(35, 25), Ph{std::numeric_limits<double>::quiet_NaN()})));
}

}  // namespace
}  // namespace limegate::chemistry
