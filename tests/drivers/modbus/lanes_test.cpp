#include "modbus/lanes.h"

#include <chrono>
#include <string>
#include <thread>

#include <gtest/gtest.h>

namespace limegate::modbus {
namespace {

using Lane = Lanes::Lane;
using std::chrono::milliseconds;
using std::chrono::steady_clock;

TEST(Lanes, serve_the_urgent_first_and_each_lane_in_order) {
  Lanes lanes;
  std::string order;
  for (const char name : {'a', 'b'}) {
    ASSERT_TRUE(lanes.add(Lane::ordinary, [&order, name] { order += name; }));
  }
  for (const char name : {'X', 'Y'}) {
    ASSERT_TRUE(lanes.add(Lane::urgent, [&order, name] { order += name; }));
  }
  for (int i = 0; i < 4; ++i) {
    (*lanes.take({}))();
  }
  EXPECT_EQ(order, "XYab");
}

TEST(Lanes, give_no_ordinary_job_as_urgent) {
  Lanes lanes;
  ASSERT_TRUE(lanes.add(Lane::ordinary, [] {}));
  EXPECT_FALSE(lanes.take_urgent().has_value());
}

TEST(Lanes, are_bounded_each_on_its_own) {
  Lanes lanes;
  for (std::size_t i = 0; i < Lanes::kJobsMax; ++i) {
    ASSERT_TRUE(lanes.add(Lane::ordinary, [] {}));
  }
  EXPECT_FALSE(lanes.add(Lane::ordinary, [] {}));
  EXPECT_TRUE(lanes.add(Lane::urgent, [] {}));
}

TEST(Lanes, wake_at_the_deadline_with_nothing) {
  Lanes lanes;
  const auto deadline = steady_clock::now() + milliseconds{20};
  EXPECT_FALSE(lanes.take(deadline).has_value());
  EXPECT_GE(steady_clock::now(), deadline);
}

TEST(Lanes, take_nothing_once_closed_but_the_urgent_rest) {
  Lanes lanes;
  ASSERT_TRUE(lanes.add(Lane::ordinary, [] {}));
  ASSERT_TRUE(lanes.add(Lane::urgent, [] {}));
  lanes.close();
  EXPECT_FALSE(lanes.take({}).has_value());
  EXPECT_FALSE(lanes.add(Lane::urgent, [] {}));
  EXPECT_TRUE(lanes.take_urgent().has_value());
  EXPECT_FALSE(lanes.take_urgent().has_value());
}

TEST(Lanes, pause_until_something_urgent_comes) {
  Lanes lanes;
  ASSERT_TRUE(lanes.add(Lane::ordinary, [] {}));
  const auto start = steady_clock::now();
  lanes.pause(milliseconds{20});
  EXPECT_GE(steady_clock::now() - start, milliseconds{20});
  std::thread other{[&] { ASSERT_TRUE(lanes.add(Lane::urgent, [] {})); }};
  lanes.pause(std::chrono::seconds{60});  // ends at the job, or the test takes a minute
  other.join();
  EXPECT_LT(steady_clock::now() - start, std::chrono::seconds{30});
}

}  // namespace
}  // namespace limegate::modbus
