// A reading is as old as the answer of its device, however late the daemon gets round to it.

#include <thread>

#include <gtest/gtest.h>

#include "app/world_bench.h"
#include "support/wait_until.h"

namespace limegate::app {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

class SampleAge : public test::WorldTest {
 protected:
  SampleAge() : WorldTest({}) {}
};

TEST_F(SampleAge, of_an_answer_that_waited_for_the_loop_is_its_own) {
  up_to_a_pulse();
  const int before = bench_.slave().requests();
  world_->tick();
  // The answer to both probes has arrived, and nobody has looked at them.
  ASSERT_TRUE(test::wait_until([&] { return bench_.slave().requests() > before; }));
  std::this_thread::sleep_for(200ms);
  pace_.pass(8s);
  while (!world_->idle()) {
    loop_.run_one();
  }
  EXPECT_EQ(status().ph.age, 8s);
  EXPECT_EQ(status().temperature.age, 8s);
  EXPECT_EQ(status().ph.quality, signal::Quality::good);
  pace_.pass(3s);
  EXPECT_EQ(status().ph.reason, signal::Reason::stale);
}

}  // namespace
}  // namespace limegate::app
