#include <csignal>
#include <memory>
#include <string>
#include <thread>
#include <vector>

#include <gtest/gtest.h>
#include <poll.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include "app/bench.h"
#include "app/notify_socket.h"
#include "support/places.h"
#include "support/wait_until.h"

namespace limegate::test {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

/// For a busy machine: only a failing test uses it up.
constexpr auto kPatience = 60s;

TEST(ServiceNotice, says_ready_keeps_the_watchdog_fed_and_says_that_it_stops) {
  Bench bench{{}};
  bench.prepare();
  NotifySocket manager;
  const auto daemon = manager.start(bench.config(), 4s);
  const std::string first = manager.listen_for("READY=1\n", kPatience);
  ASSERT_TRUE(contains(first, "READY=1\n")) << daemon->output();
  EXPECT_TRUE(contains(first, "STATUS=reef: held for ")) << first;
  for (int i = 0; i < 3; ++i) {
    EXPECT_TRUE(contains(manager.listen_for("WATCHDOG=1\n", kPatience), "WATCHDOG=1\n")) << i;
  }
  daemon->signal(SIGTERM);
  EXPECT_TRUE(contains(manager.listen_for("STOPPING=1\n", kPatience), "STOPPING=1\n"));
  EXPECT_EQ(daemon->wait(kPatience), 0) << daemon->output();
  EXPECT_FALSE(contains(manager.listen(100ms), "WATCHDOG=1"));
}

TEST(ServiceNotice, a_status_is_told_only_when_it_changes) {
  Bench bench{{}};
  bench.prepare();
  NotifySocket manager;
  const auto daemon = manager.start(bench.config(), 4s);
  ASSERT_TRUE(contains(manager.listen_for("READY=1\n", kPatience), "READY=1\n"))
      << daemon->output();
  // Outlets are confirmed, probes are heard: reasons go away, and what is left stays for a minute.
  for (const char* code : {"ph-missing", "temperature-missing", "pump-unconfirmed",
                           "stirrer-unconfirmed", "stirrer-unknown"}) {
    ASSERT_TRUE(wait_until([&] {
      return contains(daemon->output(), std::string{"event=cleared-"} + code);
    })) << code
        << daemon->output();
  }
  (void)manager.listen(1s);
  EXPECT_FALSE(contains(manager.listen(5s), "STATUS=")) << daemon->output();
  bench.slave().close_port();
  EXPECT_TRUE(contains(manager.listen_for("STATUS=", kPatience), "STATUS=reef: held for "));
}

TEST(ServiceNotice, a_stopped_process_feeds_nothing) {
  Bench bench{{}};
  bench.prepare();
  NotifySocket manager;
  const auto daemon = manager.start(bench.config(), 2s);
  ASSERT_TRUE(contains(manager.listen_for("READY=1\n", kPatience), "READY=1\n"))
      << daemon->output();
  daemon->signal(SIGSTOP);
  (void)manager.listen(100ms);        // what was told before
  EXPECT_EQ(manager.listen(4s), "");  // nothing comes for twice the watchdog's time
  daemon->signal(SIGCONT);
  EXPECT_TRUE(contains(manager.listen_for("WATCHDOG=1\n", kPatience), "WATCHDOG=1\n"));
}

TEST(ServiceNotice, is_ready_while_no_probe_and_no_board_answers) {
  Bench bench{{}};
  bench.prepare();
  bench.slave().close_port();
  NotifySocket manager;
  const auto daemon = manager.start(bench.config(), 4s);
  EXPECT_TRUE(contains(manager.listen_for("READY=1\n", kPatience), "READY=1\n"))
      << daemon->output();
  EXPECT_TRUE(contains(manager.listen_for("WATCHDOG=1\n", kPatience), "WATCHDOG=1\n"));
}

TEST(ServiceNotice, a_manager_that_does_not_read_holds_nothing_up) {
  Bench bench{{}};
  bench.prepare();
  NotifySocket manager;
  manager.fill();
  const auto daemon = manager.start(bench.config(), 4s);
  const auto status = [&] {
    Program ask{{limegate_path(), "status", bench.config()}, manager.log() + ".status"};
    return ask.wait(20s);
  };
  bool answers = false;
  for (int n = 0; n < 600 && !answers; ++n) {
    answers = status() == 0;
    std::this_thread::sleep_for(answers ? 0ms : 100ms);
  }
  EXPECT_TRUE(answers) << daemon->output();
  EXPECT_TRUE(contains(manager.listen_for("READY=1\n", 20s), "READY=1\n"))
      << "what could not be told is told as soon as there is room";
  manager.fill();
  daemon->signal(SIGTERM);
  EXPECT_EQ(daemon->wait(20s), 0) << daemon->output();
}

TEST(ServiceNotice, is_not_ready_with_a_config_that_is_refused) {
  Bench bench{{}};
  write_file(bench.config(), read_file(bench.config()) + "\nnonsense = 1\n");
  NotifySocket manager;
  const auto daemon = manager.start(bench.config(), 4s);
  EXPECT_EQ(daemon->wait(kPatience), 2) << daemon->output();
  EXPECT_EQ(manager.listen(100ms), "");
}

TEST(ServiceNotice, nobody_who_watches_is_told_of_steps) {
  Bench bench{{}};
  bench.prepare();
  NotifySocket manager;
  const auto daemon = manager.start(bench.config(), 0s);
  ASSERT_TRUE(contains(manager.listen_for("READY=1\n", kPatience), "READY=1\n"))
      << daemon->output();
  EXPECT_FALSE(contains(manager.listen(3s), "WATCHDOG=1"));  // three steps, if it is quick
}

TEST(ServiceNotice, without_a_notify_socket_it_runs_and_tells_nobody) {
  Bench bench{{}};
  bench.prepare();
  NotifySocket manager;
  Program daemon{{"/usr/bin/env", "-u", "NOTIFY_SOCKET", "WATCHDOG_USEC=2000000", limegate_path(),
                  "run", bench.config()},
                 manager.log()};
  ASSERT_TRUE(wait_until([&] { return contains(daemon.output(), "event=cleared-ph-missing"); }))
      << daemon.output();
  EXPECT_EQ(manager.listen(1s), "");
  daemon.signal(SIGTERM);
  EXPECT_EQ(daemon.wait(kPatience), 0) << daemon.output();
  EXPECT_TRUE(contains(daemon.output(), "stopped outlets=off")) << daemon.output();
}

TEST(ServiceNotice, a_fast_simulated_station_feeds_no_more_often) {
  const TempDir folder;
  const std::string config = folder.path() + "/fast.toml";
  write_file(config, read_file(source_dir() + "/config/examples/simulated.toml"));
  ASSERT_EQ(run_program({limegate_path(), "prepare", config}).code, 0);
  NotifySocket manager;
  const auto began = std::chrono::steady_clock::now();
  const auto daemon = manager.start(config, 4s);
  ASSERT_TRUE(contains(manager.listen_for("READY=1\nWATCHDOG=1\n", kPatience), "READY=1\n"))
      << daemon->output();
  for (int i = 0; i < 4; ++i) {
    ASSERT_TRUE(contains(manager.listen_for("WATCHDOG=1\n", kPatience), "WATCHDOG=1\n")) << i;
  }
  // The first was fed after the start, and each a second after the one before at the earliest. By
  // its steps, 120 a second, all five would be fed at once.
  EXPECT_GE(std::chrono::steady_clock::now() - began, 4s);
  daemon->signal(SIGTERM);
  EXPECT_TRUE(contains(manager.listen_for("STOPPING=1\n", kPatience), "STOPPING=1\n"));
  EXPECT_EQ(daemon->wait(kPatience), 0) << daemon->output();
}

}  // namespace
}  // namespace limegate::test
