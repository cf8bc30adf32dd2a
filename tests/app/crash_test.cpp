#include <atomic>
#include <csignal>
#include <random>
#include <thread>

#include <gtest/gtest.h>
#include <sys/wait.h>

#include "app/bench.h"

namespace limegate::test {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

/// The daemon is killed again and again under dosing, `limegate off` runs, and it is started anew.
class Crash {
 public:
  Crash() : bench_(plan()) { bench_.prepare(); }

  static Bench::Plan plan() {
    Bench::Plan plan;
    plan.max_pulse_ml = 5;  // many small pulses: many commits and bus writes to die in
    return plan;
  }

  /// Starts the daemon and waits until it doses; false if it does not within its time. Time goes
  /// on, so that it may be killed in the middle of anything.
  bool start_and_dose() {
    if (bench_.ledger_number("SELECT coalesce(sum(counted_ul), 0) FROM pulses WHERE "
                             "end_lifetime_ms > (SELECT max(end_lifetime_ms) FROM pulses) - "
                             "86400000") > 1'800'000) {
      // The allowance of the day is nearly spent: a day passes while the daemon is down.
      bench_.clock().advance(24h);
    }
    bench_.start();
    const double before = bench_.delivered_ml();
    const bool doses = bench_.wait_for([&] { return bench_.delivered_ml() > before; });
    bench_.run_freely();
    return doses;
  }

  void check_after_kill(const std::string& where) {
    ASSERT_EQ(bench_.off(), 0) << where;
    ASSERT_FALSE(bench_.pump_on()) << where;
    ASSERT_FALSE(bench_.stirrer_on()) << where;
    ASSERT_GE(bench_.counted_ml(), bench_.delivered_ml() - 0.001) << where;
  }

  void check_world() {
    const auto found = violations(bench_.slave().log(), {20min, 348.0, 2000.0});
    EXPECT_TRUE(found.empty()) << found.size() << " violations, the first: " << found.front();
  }

  Bench& bench() { return bench_; }

 private:
  Bench bench_;
};

TEST(Crash, killed_at_random_moments_everything_goes_off_and_nothing_is_forgotten) {
  constexpr int kills = 160;
  const unsigned seed = std::random_device{}();
  SCOPED_TRACE("seed " + std::to_string(seed));
  std::mt19937 random{seed};
  std::uniform_int_distribution<int> microseconds{0, 300'000};
  Crash crash;
  for (int i = 0; i < kills; ++i) {
    ASSERT_TRUE(crash.start_and_dose()) << "kill " << i << "\n" << crash.bench().log();
    std::this_thread::sleep_for(std::chrono::microseconds{microseconds(random)});
    crash.bench().kill();
    crash.check_after_kill("kill " + std::to_string(i));
  }
  crash.check_world();
}

TEST(Crash, killed_inside_the_bus_write_that_switches_the_pump_on) {
  constexpr int kills = 40;
  Crash crash;
  std::atomic<pid_t> target{0};
  std::atomic<Slave::Event::Phase> phase{Slave::Event::Phase::before};
  std::atomic<int> wanted{0};
  Bench& bench = crash.bench();
  bench.also_on_request([&](const Slave::Event& event) {
    const bool pump_write = event.unit == Bench::kBoard && event.address == Bench::kPumpTimer &&
                            (event.function == 6 || event.function == 16);
    if (pump_write && event.phase == phase && target != 0 && --wanted < 0) {
      ::kill(target.exchange(0), SIGKILL);
    }
  });
  std::mt19937 random{7};
  for (int i = 0; i < kills; ++i) {
    phase = i % 2 == 0 ? Slave::Event::Phase::before : Slave::Event::Phase::after;
    wanted = std::uniform_int_distribution<int>{0, 2}(random);
    ASSERT_TRUE(crash.start_and_dose()) << "kill " << i << "\n" << bench.log();
    target = bench.daemon().pid();
    ASSERT_TRUE(bench.daemon().wait(120s).has_value()) << "kill " << i << "\n" << bench.log();
    crash.check_after_kill("kill " + std::to_string(i));
  }
  crash.check_world();
}

TEST(Crash, a_stopped_process_leaves_the_pulse_to_the_boards_timer) {
  Crash crash;
  Bench& bench = crash.bench();
  ASSERT_TRUE(crash.start_and_dose());
  ASSERT_TRUE(bench.let_pulse_begin());
  bench.daemon().signal(SIGSTOP);
  siginfo_t stopped{};
  ASSERT_EQ(::waitid(P_PID, static_cast<id_t>(bench.daemon().pid()), &stopped, WSTOPPED | WNOWAIT),
            0);
  bench.run_freely();  // it would go on if it could
  // The board alone ends the pulse of 5 mL, 6 s at the most.
  bench.clock().advance(7s);
  bench.slave().advance();
  EXPECT_FALSE(bench.pump_on());
  bench.kill();
  crash.check_after_kill("stopped process");
}

TEST(Crash, every_polite_signal_switches_everything_off_first) {
  Crash crash;
  Bench& bench = crash.bench();
  for (const int number : {SIGTERM, SIGINT, SIGHUP, SIGQUIT, SIGTERM, SIGHUP}) {
    ASSERT_TRUE(crash.start_and_dose());
    ASSERT_TRUE(bench.let_pulse_begin());
    bench.run_freely();
    bench.daemon().signal(SIGPIPE);  // no reason to stop
    bench.daemon().signal(number);
    EXPECT_EQ(bench.daemon().wait(120s), 0) << bench.log();
    EXPECT_FALSE(bench.pump_on());
    EXPECT_GE(bench.counted_ml(), bench.delivered_ml() - 0.001);
  }
  crash.check_world();
}

}  // namespace
}  // namespace limegate::test
