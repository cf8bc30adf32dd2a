#include "rules/for_people.h"

#include <chrono>

#include <gtest/gtest.h>

namespace limegate::rules {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

TEST(ForPeople, a_duration_is_rounded_up_and_never_below_nothing) {
  EXPECT_EQ(for_people(1ms), "1 s") << "something still waits";
  EXPECT_EQ(for_people(0s), "0 s");
  EXPECT_EQ(for_people(-1ms), "0 s");
  EXPECT_EQ(for_people(-5h), "0 s") << "what is past waits no more";
  EXPECT_EQ(for_people(119s), "119 s");
  EXPECT_EQ(for_people(120s), "2 min");
  EXPECT_EQ(for_people(65min), "65 min");
  EXPECT_EQ(for_people(125min), "2 h 05 min");
}

TEST(ForPeople, a_volume_has_no_exponent) {
  EXPECT_EQ(volume_for_people(Millilitres{83.33}), "83.3 mL");
  EXPECT_EQ(volume_for_people(Millilitres{9999999.0}), "9999999.0 mL");
  EXPECT_EQ(volume_for_people(Millilitres{1e8}), "100000000 mL");
}

}  // namespace
}  // namespace limegate::rules
