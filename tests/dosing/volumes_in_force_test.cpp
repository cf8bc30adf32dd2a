#include "dosing/volumes_in_force.h"

#include <gtest/gtest.h>

namespace limegate::dosing {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

Stamp at(Duration lifetime) { return {lifetime, WallTime{500000h + lifetime}}; }
Millilitres ml(double count) { return Millilitres{count}; }

TEST(VolumesInForce, nothing_known_permits_nothing) {
  EXPECT_EQ(VolumesInForce{}.largest(at(1h)), ml(0));
}

TEST(VolumesInForce, one_that_was_lowered_counts_for_24_hours_from_then_on) {
  VolumesInForce volumes;
  EXPECT_TRUE(volumes.set(at(1h), ml(2000)));
  EXPECT_TRUE(volumes.set(at(100h), ml(100)));
  EXPECT_EQ(volumes.largest(at(100h)), ml(2000));
  EXPECT_EQ(volumes.largest(at(124h - 1ns)), ml(2000));
  EXPECT_EQ(volumes.largest(at(124h)), ml(100));
}

TEST(VolumesInForce, the_same_again_changes_nothing) {
  VolumesInForce volumes;
  EXPECT_TRUE(volumes.set(at(1h), ml(2000)));
  EXPECT_TRUE(volumes.set(at(10h), ml(100)));
  EXPECT_FALSE(volumes.set(at(20h), ml(100)));
  EXPECT_EQ(volumes.largest(at(34h)), ml(100)) << "24 h after it was lowered";
}

TEST(VolumesInForce, wishing_up_and_down_prolongs_only_what_was_in_force) {
  VolumesInForce volumes;
  EXPECT_TRUE(volumes.set(at(1h), ml(2000)));
  EXPECT_TRUE(volumes.set(at(10h), ml(100)));
  EXPECT_TRUE(volumes.set(at(33h), ml(101)));
  EXPECT_EQ(volumes.largest(at(33h)), ml(2000));
  EXPECT_EQ(volumes.largest(at(34h)), ml(101));
}

TEST(VolumesInForce, what_was_known_before_the_start_goes_on) {
  VolumesInForce volumes{{{at(1h), ml(2000)}, {at(10h), ml(100)}}};
  EXPECT_FALSE(volumes.set(at(11h), ml(100)));
  EXPECT_EQ(volumes.largest(at(33h)), ml(2000));
  EXPECT_EQ(volumes.largest(at(34h)), ml(100));
}

TEST(VolumesInForce, no_step_of_the_wall_clock_frees_any) {
  VolumesInForce volumes{{{at(1h), ml(100)}}};
  EXPECT_TRUE(volumes.set(at(10h), ml(50)));
  EXPECT_EQ(volumes.largest({11h, WallTime{900000h}}), ml(100));
}

}  // namespace
}  // namespace limegate::dosing
