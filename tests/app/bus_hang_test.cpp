// A bus thread that hangs while the pump is on, on a board that ends no run by itself.

#include <filesystem>
#include <fstream>
#include <thread>

#include <gtest/gtest.h>
#include <sys/ptrace.h>
#include <sys/wait.h>

#include "app/bench.h"
#include "app/notify_socket.h"
#include "support/wait_until.h"

namespace limegate::test {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

/// One thread of another process, stopped alone.
class StoppedThread {
 public:
  StoppedThread(pid_t process, const std::string& name) {
    for (const auto& task :
         std::filesystem::directory_iterator("/proc/" + std::to_string(process) + "/task")) {
      std::string comm;
      std::getline(std::ifstream{task.path() / "comm"}, comm);
      if (comm == name) {
        thread_ = std::stoi(task.path().filename());
      }
    }
    if (thread_ == 0 || ::ptrace(PTRACE_SEIZE, thread_, nullptr, nullptr) != 0 ||
        ::ptrace(PTRACE_INTERRUPT, thread_, nullptr, nullptr) != 0 ||
        ::waitpid(thread_, nullptr, __WALL) != thread_) {
      ADD_FAILURE() << "thread " << name << " can't be stopped";
    }
  }
  /// Its end is told to the one who traces it, and nobody goes on before that.
  void bury() const { (void)::waitpid(thread_, nullptr, __WALL | WNOHANG); }

 private:
  pid_t thread_ = 0;
};

class BusHang : public testing::TestWithParam<Slave::Transport> {
 protected:
  static Bench::Plan plan() {
    Bench::Plan plan;
    plan.untimed = true;
    return plan;
  }
  /// Up to a moment at which the pump is on; from there time goes on as in life.
  void pump_on(const std::vector<std::string>& env = {}) {
    bench_.prepare();
    bench_.start(env);
    for (int tries = 0; tries < 20 && !bench_.pump_on(); ++tries) {
      ASSERT_TRUE(bench_.wait_for([&] { return bench_.pump_on(); })) << bench_.log();
    }
    ASSERT_TRUE(bench_.pump_on());
    bench_.go_live();
    std::this_thread::sleep_for(1500ms);
    ASSERT_TRUE(bench_.pump_on());
  }
  void hang() {
    if (GetParam() == Slave::Transport::tcp) {
      stopped_.emplace(bench_.daemon().pid(), "bus bench");
    } else {
      bench_.block_writes();
    }
  }
  bool within(std::chrono::milliseconds limit, const std::function<bool()>& done) {
    return wait_until(
        [&] {
          if (stopped_) {
            stopped_->bury();
          }
          return done();
        },
        limit);
  }

  Bench bench_{plan(), GetParam()};
  std::optional<StoppedThread> stopped_;
};
INSTANTIATE_TEST_SUITE_P(, BusHang, testing::Values(Slave::Transport::tcp, Slave::Transport::pty),
                         [](const auto& wire) {
                           return wire.param == Slave::Transport::tcp ? "stopped_thread"
                                                                      : "blocked_write";
                         });

TEST_P(BusHang, ends_the_daemon_and_another_process_switches_the_pump_off) {
  pump_on();
  hang();
  EXPECT_TRUE(within(60s, [&] { return !bench_.pump_on(); })) << bench_.log();
  EXPECT_TRUE(within(60s, [&] { return bench_.daemon().wait(0ms).has_value(); }));
  EXPECT_EQ(bench_.daemon().wait(0ms), 1) << "whoever watches over it starts it again\n"
                                          << bench_.log();
  EXPECT_TRUE(contains(bench_.log(), "nothing is dosed until it is started again"));
  EXPECT_TRUE(contains(bench_.log(), "event=bus-hangs")) << bench_.log();
  EXPECT_TRUE(contains(bench_.log(), "off, confirmed", 2)) << bench_.log();
  // What flowed until then counts after the next start.
  EXPECT_GE(bench_.counted_ml(), bench_.delivered_ml() - 0.001);
}

TEST_P(BusHang, is_left_to_a_manager_that_watches) {
  NotifySocket manager;
  pump_on(manager.environment(2s));
  EXPECT_TRUE(contains(manager.listen_for("WATCHDOG=1", 10s), "WATCHDOG=1"));
  hang();
  EXPECT_TRUE(within(60s, [&] { return contains(bench_.log(), "event=bus-hangs"); }));
  (void)manager.listen(200ms);  // what was told before
  EXPECT_EQ(manager.listen(3s), "") << "the watchdog is not fed any more";
  EXPECT_TRUE(bench_.pump_on());
  EXPECT_FALSE(bench_.daemon().wait(0ms)) << "the manager ends it";
  bench_.kill();
  EXPECT_EQ(bench_.off(), 0);
  EXPECT_FALSE(bench_.pump_on());
}

TEST_P(BusHang, does_not_keep_the_daemon_from_ending_when_it_is_told_to) {
  pump_on();
  hang();
  bench_.daemon().signal(SIGTERM);
  EXPECT_TRUE(within(60s, [&] { return bench_.daemon().wait(0ms).has_value(); })) << bench_.log();
  EXPECT_FALSE(bench_.pump_on());
}

}  // namespace
}  // namespace limegate::test
