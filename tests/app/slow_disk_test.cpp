// The daemon's world on real Modbus and real SQLite, on a disk whose syncs take their time.

#include <algorithm>
#include <string>

#include <gtest/gtest.h>

#include "app/slow_sync.h"
#include "app/world_bench.h"

namespace limegate::app {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

/// Time goes by leaps up to a moment that matters, and then eight times as fast as life, whatever
/// the disk does meanwhile.
class SlowDisk : public test::WorldTest {
 protected:
  static constexpr int kFaster = 8;

  static test::Bench::Plan plan() {
    test::Bench::Plan plan;
    plan.max_pulse_ml = 12.5;
    return plan;
  }
  SlowDisk() : WorldTest(plan()) {}

  void SetUp() override {
    test::quick_sync();
    WorldTest::SetUp();
  }
  void TearDown() override {
    test::quick_sync();
    WorldTest::TearDown();
  }

  bool live(Duration most, const Until& done) {
    for (Duration lived{}; lived < most && !done(); lived += 1s) {
      world_->tick();
      if (world_->wants_quick_polls()) {
        world_->quick_poll();
      }
      loop_.run_for(1000ms / kFaster);
      pace_.pass(1s);
    }
    return done();
  }
};

TEST_F(SlowDisk, of_two_seconds_a_sync_doses_and_stirs) {
  up_to_a_pulse();
  test::slow_sync(2000ms / kFaster, "/state");
  EXPECT_TRUE(live(10min, [this] { return bench_.pump_on(); }));
  EXPECT_GE(test::slow_syncs(), 3) << "a row, the guard's record and its directory";
  EXPECT_TRUE(live(2min, [this] { return !bench_.pump_on(); }));
  EXPECT_GE(bench_.counted_ml(), bench_.delivered_ml() - 0.001);
  test::quick_sync();
  leap([this] { return status().next_stir_in < 3s; });
  test::slow_sync(2000ms / kFaster, "/state");
  EXPECT_TRUE(live(5min, [this] { return bench_.stirrer_on(); }));
  EXPECT_EQ(told("disk-slow"), 0);
  EXPECT_EQ(told("outlet-refused"), 0) << "nobody speaks of a board";
}

TEST_F(SlowDisk, that_hangs_mutes_no_alert_and_repeats_none) {
  up_to_a_pulse();
  test::slow_sync(80s / kFaster, "/state");
  const std::string first = world_->alerts().test();
  const auto given = [this](const std::string& id) {
    const auto all = world_->alerts().messages_after("");
    return std::count_if(all.begin(), all.end(), [&](const std::string& event) {
      return event.find(id) != std::string::npos;
    });
  };
  EXPECT_TRUE(live(30s, [&] { return given(first) == 1; })) << "while it is being written";
  const std::string second = world_->alerts().test();
  EXPECT_TRUE(live(30s, [&] { return given(second) == 1; })) << "and while it waits for that";
  test::quick_sync();
  EXPECT_FALSE(live(5min, [&] { return given(first) + given(second) != 2; }));
  EXPECT_EQ(bench_.ledger_number("SELECT count(*) FROM alert_messages"), 2) << "kept all the same";
}

class TooSlowDisk : public SlowDisk, public testing::WithParamInterface<int> {};

TEST_P(TooSlowDisk, holds_says_so_and_goes_on_when_the_disk_is_quick_again) {
  up_to_a_pulse();
  const double before = bench_.delivered_ml();
  test::slow_sync(1000ms * GetParam() / kFaster, "/state");
  EXPECT_TRUE(live(2min, [this] { return held("disk-slow"); }));
  EXPECT_TRUE(live(5min, [this] { return told("disk-slow") == 1; }));
  EXPECT_EQ(bench_.delivered_ml(), before);
  EXPECT_FALSE(bench_.pump_on());
  test::quick_sync();
  EXPECT_TRUE(live(10min, [this] { return bench_.pump_on(); }));
  EXPECT_TRUE(live(2min, [this] { return !bench_.pump_on(); }));
  EXPECT_EQ(told("disk-in-time"), 1);
  EXPECT_GE(bench_.counted_ml(), bench_.delivered_ml() - 0.001);
}
INSTANTIATE_TEST_SUITE_P(, TooSlowDisk, testing::Values(15, 30),
                         [](const auto& row) { return std::to_string(row.param) + "_s"; });

}  // namespace
}  // namespace limegate::app
