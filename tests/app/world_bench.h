#pragma once

#include <algorithm>
#include <chrono>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include <boost/asio/executor_work_guard.hpp>
#include <boost/asio/io_context.hpp>
#include <gtest/gtest.h>

#include "app/bench.h"
#include "app/given_config.h"
#include "app/pace.h"
#include "app/world.h"

namespace limegate::test {

class BenchPace : public app::Pace {
 public:
  explicit BenchPace(SharedClock& clock) : clock_(clock) {}
  [[nodiscard]] const ports::Clock& clock() const override { return clock_; }
  [[nodiscard]] std::string boot_id() const override { return clock_.boot_id(); }
  [[nodiscard]] Kind kind() const override { return Kind::real; }
  void pass(Duration by) override { clock_.advance(by); }

 private:
  SharedClock& clock_;
};

/// The daemon's world in the test's own process, on real Modbus and real SQLite. The test is its
/// loop, and says when time passes.
class WorldTest : public testing::Test {
 protected:
  using Until = std::function<bool()>;
  explicit WorldTest(const Bench::Plan& plan) : bench_(plan) {}

  void SetUp() override {
    bench_.prepare();
    const auto given = app::load_given(bench_.config());
    ASSERT_TRUE(given);
    world_.emplace(loop_, given->config, pace_, app::Tanks{});
    world_->events().listen(
        [this](const app::Happened& what) { told_.push_back(what.event.code); });
  }
  void TearDown() override {
    bool stopped = false;
    world_->stop([&](bool /*off*/) { stopped = true; });
    while (!stopped || !world_->idle()) {
      loop_.run_one_for(std::chrono::milliseconds{10});
    }
  }

  /// By leaps, which pass only when nothing is under way.
  void leap(const Until& done) {
    for (int second = 0; second < 6 * 3600 && !done(); ++second) {
      world_->tick();
      while (!world_->idle()) {
        loop_.run_one();
      }
      pace_.pass(std::chrono::seconds{1});
    }
    ASSERT_TRUE(done());
  }
  [[nodiscard]] station::Status status() const { return world_->overview().stations.at(0); }
  void up_to_a_pulse() {
    leap([this] {
      const auto due = status().next_pulse_in;
      return status().gate_open && due && *due < std::chrono::seconds{5};
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

  Bench bench_;
  boost::asio::io_context loop_{1};
  boost::asio::executor_work_guard<boost::asio::io_context::executor_type> work_{
      loop_.get_executor()};
  BenchPace pace_{bench_.clock()};
  std::optional<app::World> world_;
  std::vector<std::string> told_;
};

}  // namespace limegate::test
