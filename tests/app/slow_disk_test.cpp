// The daemon's world on real Modbus and real SQLite, on a disk whose syncs take their time.

#include <algorithm>
#include <functional>
#include <thread>

#include <boost/asio/executor_work_guard.hpp>
#include <boost/asio/io_context.hpp>
#include <gtest/gtest.h>

#include "app/bench.h"
#include "app/given_config.h"
#include "app/slow_sync.h"
#include "app/world.h"

namespace limegate::app {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

class BenchPace : public Pace {
 public:
  explicit BenchPace(test::SharedClock& clock) : clock_(clock) {}
  [[nodiscard]] const ports::Clock& clock() const override { return clock_; }
  [[nodiscard]] std::string boot_id() const override { return clock_.boot_id(); }
  [[nodiscard]] Kind kind() const override { return Kind::real; }
  void pass(Duration by) override { clock_.advance(by); }

 private:
  test::SharedClock& clock_;
};

/// Time goes by leaps up to a moment that matters, and then eight times as fast as life, whatever
/// the disk does meanwhile.
class SlowDisk : public testing::Test {
 protected:
  static constexpr int kFaster = 8;
  using Until = std::function<bool()>;

  static test::Bench::Plan plan() {
    test::Bench::Plan plan;
    plan.max_pulse_ml = 12.5;
    return plan;
  }

  void SetUp() override {
    test::quick_sync();
    bench_.prepare();
    const auto given = load_given(bench_.config());
    ASSERT_TRUE(given);
    world_.emplace(loop_, given->config, pace_, Tanks{});
    world_->events().listen([this](const Happened& what) { told_.push_back(what.event.code); });
  }
  void TearDown() override {
    test::quick_sync();
    bool stopped = false;
    world_->stop([&](bool /*off*/) { stopped = true; });
    while (!stopped || !world_->idle()) {
      loop_.run_one_for(10ms);
    }
  }

  void leap(const Until& done) {
    for (int second = 0; second < 6 * 3600 && !done(); ++second) {
      world_->tick();
      while (!world_->idle()) {
        loop_.run_one();
      }
      pace_.pass(1s);
    }
    ASSERT_TRUE(done());
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
  [[nodiscard]] station::Status status() const { return world_->overview().stations.at(0); }
  void up_to_a_pulse() {
    leap([this] {
      const auto due = status().next_pulse_in;
      return status().gate_open && due && *due < 5s;
    });
  }
  [[nodiscard]] bool held(const std::string& code) const {
    const auto holds = status().holds;
    return std::any_of(holds.begin(), holds.end(),
                       [&](const station::Status::Held& hold) { return hold.code == code; });
  }
  [[nodiscard]] auto told(const std::string& code) const {
    return std::count(told_.begin(), told_.end(), code);
  }

  test::Bench bench_{plan()};
  boost::asio::io_context loop_{1};
  boost::asio::executor_work_guard<boost::asio::io_context::executor_type> work_{
      loop_.get_executor()};
  BenchPace pace_{bench_.clock()};
  std::optional<World> world_;
  std::vector<std::string> told_;
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
