// `limegate off`, the built program: at a port that refuses, and beside a running daemon.

#include <atomic>
#include <chrono>
#include <csignal>
#include <filesystem>
#include <memory>
#include <thread>

#include <gtest/gtest.h>
#include <netinet/in.h>
#include <nlohmann/json.hpp>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include "app/bench.h"
#include "support/places.h"

namespace limegate::test {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using nlohmann::json;

Ran limegate(std::vector<std::string> arguments) {
  arguments.insert(arguments.begin(), limegate_path());
  return run_program(arguments);
}

std::string replaced(std::string text, const std::string& from, const std::string& to) {
  const auto at = text.find(from);
  EXPECT_NE(at, std::string::npos) << from;
  return at == std::string::npos ? text : text.replace(at, from.size(), to);
}

/// A gateway on the loopback that shuts the door in every face, and counts them.
class ShutDoor {
 public:
  ShutDoor() : listener_(::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0)) {
    sockaddr_in address{};
    address.sin_family = AF_INET;
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    socklen_t size = sizeof address;
    auto* generic = reinterpret_cast<sockaddr*>(&address);
    EXPECT_EQ(::bind(listener_, generic, size), 0);
    EXPECT_EQ(::listen(listener_, 64), 0);
    EXPECT_EQ(::getsockname(listener_, generic, &size), 0);
    port_ = ntohs(address.sin_port);
    thread_ = std::thread{[this] {
      while (!over_) {
        pollfd ask{listener_, POLLIN, 0};
        if (::poll(&ask, 1, 20) > 0) {
          ::close(::accept(listener_, nullptr, nullptr));
          ++knocks_;
        }
      }
    }};
  }
  ~ShutDoor() {
    over_ = true;
    thread_.join();
    ::close(listener_);
  }
  ShutDoor(const ShutDoor&) = delete;
  ShutDoor& operator=(const ShutDoor&) = delete;
  ShutDoor(ShutDoor&&) = delete;
  ShutDoor& operator=(ShutDoor&&) = delete;

  [[nodiscard]] int port() const { return port_; }
  [[nodiscard]] int knocks() const { return knocks_; }

 private:
  int listener_;
  int port_ = 0;
  std::atomic<int> knocks_{0};
  std::atomic<bool> over_{false};
  std::thread thread_;
};

TEST(Off, a_port_that_refuses_is_tried_again_and_again_with_pauses) {
  Bench bench{{}};
  const ShutDoor door;
  write_file(bench.config(), replaced(read_file(bench.config()),
                                      "tcp_port = " + std::to_string(bench.slave().port()),
                                      "tcp_port = " + std::to_string(door.port())));
  const Ran off = limegate({"off", bench.config()});
  EXPECT_EQ(off.code, 1);
  EXPECT_TRUE(contains(off.output, "NOT CONFIRMED", 2)) << off.output;
  EXPECT_GE(door.knocks(), 20) << "two outlets, ten seconds, at least each second";
  EXPECT_LE(door.knocks(), 400);
}

/// A daemon that runs, and `limegate off` beside it.
class OffBeside : public testing::Test {
 protected:
  void begin(Slave::Transport transport = Slave::Transport::tcp) {
    bench_ = std::make_unique<Bench>(Bench::Plan{}, transport);
    bench_->prepare();
    bench_->start();
    ASSERT_TRUE(bench_->let_pulse_begin()) << bench_->log();
    ASSERT_TRUE(bench_->pump_on());
  }
  /// Runs a command while time goes on, slowly, until it has ended.
  Ran beside(std::vector<std::string> words) {
    Program program{words, bench_->state_dir() + "/../beside-" + std::to_string(++commands_)};
    for (int n = 0; n < 20000; ++n) {
      if (const auto code = program.wait(5ms)) {
        return {*code, program.output()};
      }
      bench_->clock().grant_ticks(1);
    }
    ADD_FAILURE() << "no end of " << words[1] << "\n" << bench_->log();
    return {-1, program.output()};
  }
  /// A daemon on a busy machine may need longer for its promise than `off` waits; a person would
  /// try again too.
  Ran off(const std::vector<std::string>& more = {}) {
    std::vector<std::string> words{limegate_path(), "off", bench_->config()};
    words.insert(words.end(), more.begin(), more.end());
    Ran ran = beside(words);
    for (int n = 0; n < 5 && contains(ran.output, "did not promise"); ++n) {
      ran = beside(words);
    }
    return ran;
  }
  [[nodiscard]] std::int64_t latches() const {
    return bench_->ledger_number("SELECT count(*) FROM latches WHERE code = 'switched-off'");
  }
  std::unique_ptr<Bench> bench_;
  int commands_ = 0;
};

TEST_F(OffBeside, everything_stays_off_over_a_restart_until_a_person_releases_it) {
  begin();
  const Ran ran = off();
  EXPECT_EQ(ran.code, 0) << ran.output;
  EXPECT_TRUE(contains(ran.output, "off, confirmed", 2)) << ran.output;
  EXPECT_TRUE(contains(ran.output, "until: limegate release " + bench_->config() + " switched-off"))
      << ran.output;
  EXPECT_FALSE(bench_->pump_on());
  ASSERT_TRUE(bench_->wait_for([this] {
    return latches() == 1 && contains(bench_->log(), "event=held-switched-off");
  })) << bench_->log();
  EXPECT_TRUE(contains(bench_->log(), "By control socket, user"));
  const std::size_t switched = bench_->slave().log().size();
  ASSERT_TRUE(bench_->let_pass(3h));
  bench_->kill();
  bench_->start();
  ASSERT_TRUE(bench_->let_pass(3h));
  EXPECT_EQ(bench_->slave().log().size(), switched) << "neither pump nor stirrer ran";
  EXPECT_EQ(beside({limegate_path(), "release", bench_->config(), "switched-off"}).code, 0);
  EXPECT_TRUE(bench_->let_pulse_begin()) << bench_->log();
  EXPECT_EQ(bench_->stop(), 0);
}

TEST_F(OffBeside, on_a_line_that_the_daemon_holds_the_daemon_switches_and_confirms) {
  begin(Slave::Transport::pty);
  const Ran ran = off();
  EXPECT_EQ(ran.code, 0) << ran.output;
  EXPECT_TRUE(contains(ran.output, "off, confirmed (by the daemon)", 2)) << ran.output;
  EXPECT_FALSE(bench_->pump_on());
  EXPECT_FALSE(bench_->stirrer_on());
  const std::string printed = beside({"/bin/sh", "-c", R"("$0" off "$1" --json 2>/dev/null)",
                                      limegate_path(), bench_->config()})
                                  .output;
  const auto list = json::parse(printed, nullptr, false);
  ASSERT_TRUE(list.is_array()) << "what a bus reports is no part of it:\n" << printed;
  ASSERT_EQ(list.size(), 2U);
  for (const json& outlet : list) {
    EXPECT_EQ(outlet["confirmed_off"], true);
    EXPECT_EQ(outlet["by_daemon"], true);
    EXPECT_EQ(outlet["stays_off"], true);
  }
  EXPECT_EQ(bench_->stop(), 0);
}

TEST_F(OffBeside, what_the_daemon_cannot_confirm_either_is_not_confirmed) {
  begin(Slave::Transport::pty);
  bench_->slave().script({Misbehaviour::silent, 1000000, Bench::kBoard});
  const Ran ran = off();
  EXPECT_EQ(ran.code, 1);
  EXPECT_TRUE(contains(ran.output, "NOT CONFIRMED", 2)) << ran.output;
  EXPECT_TRUE(contains(ran.output, "until: limegate release " + bench_->config() + " switched-off"))
      << ran.output;
}

TEST_F(OffBeside, a_daemon_that_hangs_keeps_nothing_on_and_a_person_is_told) {
  begin();
  bench_->daemon().signal(SIGSTOP);
  const Ran ran = limegate({"off", bench_->config()});
  EXPECT_EQ(ran.code, 1);
  EXPECT_TRUE(contains(ran.output, "off, confirmed\n", 2)) << ran.output;
  EXPECT_TRUE(contains(ran.output, "did not promise to stay off")) << ran.output;
  EXPECT_TRUE(contains(ran.output, "systemctl stop limegate")) << "a remedy";
  EXPECT_FALSE(bench_->pump_on());
  bench_->daemon().signal(SIGCONT);
  EXPECT_EQ(bench_->stop(), 0);
}

TEST_F(OffBeside, run_by_the_service_manager_at_a_daemons_end_nothing_is_latched) {
  begin();
  const Ran ran = beside({"/usr/bin/env", "SERVICE_RESULT=success", limegate_path(), "off",
                          bench_->config(), "--json"});
  EXPECT_EQ(ran.code, 0) << ran.output;
  EXPECT_FALSE(bench_->pump_on());
  EXPECT_TRUE(json::parse(ran.output)[0]["stays_off"].is_null()) << ran.output;
  ASSERT_TRUE(bench_->let_pass(10s));
  EXPECT_FALSE(contains(bench_->log(), "switch-all-off")) << bench_->log();
  EXPECT_TRUE(bench_->let_pulse_begin()) << bench_->log();
  EXPECT_EQ(bench_->stop(), 0);
}

TEST_F(OffBeside, a_daemon_that_is_not_found_by_its_socket_is_found_by_its_outlets) {
  begin();
  const TempDir elsewhere;
  const std::string copy = elsewhere.path() + "/copy.toml";  // its state_dir is another one then
  write_file(copy, read_file(bench_->config()));
  const Ran ran = beside({limegate_path(), "off", copy});
  EXPECT_EQ(ran.code, 1) << ran.output;
  EXPECT_TRUE(contains(ran.output, "one runs, but not with " + elsewhere.path())) << ran.output;
  EXPECT_FALSE(bench_->pump_on());
  const Ran right = off({"--state-dir", bench_->state_dir()});
  EXPECT_EQ(right.code, 0) << right.output;
  EXPECT_EQ(bench_->stop(), 0);
}

TEST_F(OffBeside, a_promise_that_is_not_written_down_is_none) {
  begin();
  std::filesystem::remove(bench_->state_dir() + "/guard-reef");
  std::filesystem::create_directory(bench_->state_dir() + "/guard-reef");  // takes no record
  const Ran ran = beside({limegate_path(), "off", bench_->config()});
  EXPECT_EQ(ran.code, 1) << ran.output;
  EXPECT_TRUE(contains(ran.output, "so a restart doses") || contains(ran.output, "in time"))
      << ran.output;
  EXPECT_FALSE(bench_->pump_on());
}

TEST_F(OffBeside, what_the_daemon_ran_with_goes_off_though_the_file_names_another) {
  begin();
  bench_->kill();
  ASSERT_TRUE(bench_->pump_on());
  const std::string file = read_file(bench_->config());
  const std::string pump = "unit = 2\naddress = 0";
  ASSERT_TRUE(contains(file, pump));
  std::string edited = file;
  edited.replace(edited.find(pump), pump.size(), "unit = 2\naddress = 5");
  write_file(bench_->config(), edited);
  const Ran ran = limegate({"off", bench_->config()});
  EXPECT_FALSE(bench_->pump_on()) << ran.output;
  EXPECT_TRUE(contains(ran.output, "both were switched")) << ran.output;
  EXPECT_TRUE(contains(ran.output, "off, confirmed\n", 3)) << "the board has no coil 5\n"
                                                           << ran.output;
}

TEST_F(OffBeside, a_daemon_is_asked_at_once_though_its_file_was_edited) {
  begin(Slave::Transport::pty);  // nobody else reaches the line
  std::string edited = read_file(bench_->config());
  const std::string pump = "unit = 2\naddress = 0";
  ASSERT_TRUE(contains(edited, pump));
  write_file(bench_->config(),
             edited.replace(edited.find(pump), pump.size(), "unit = 2\naddress = 5"));
  const Ran ran = off();
  EXPECT_FALSE(bench_->pump_on());
  EXPECT_TRUE(contains(ran.output, "pump     off, confirmed (by the daemon)")) << ran.output;
  EXPECT_TRUE(contains(ran.output, "NOT CONFIRMED")) << "what only the file names\n" << ran.output;
  EXPECT_EQ(ran.code, 1);
  EXPECT_EQ(bench_->stop(), 0);
}

TEST_F(OffBeside, nobody_who_reads_what_it_says_is_needed) {
  begin();
  bench_->kill();
  ASSERT_TRUE(bench_->pump_on());
  write_file(bench_->config(), "this is no TOML");
  const Ran ran = run_program({"/bin/bash", "-c",
                               R"(set -o pipefail; "$0" off "$1" --state-dir "$2" 2> >(exec 0<&-))",
                               limegate_path(), bench_->config(), bench_->state_dir()});
  EXPECT_EQ(ran.code, 0) << ran.output;
  EXPECT_FALSE(bench_->pump_on());
}

TEST_F(OffBeside, without_a_daemon_nothing_is_latched_and_the_next_start_doses) {
  begin();
  bench_->kill();
  const Ran ran = limegate({"off", bench_->config()});
  EXPECT_EQ(ran.code, 0) << ran.output;
  EXPECT_FALSE(contains(ran.output, "switched-off")) << ran.output;
  EXPECT_TRUE(contains(ran.output, "No limegate runs here: the next start doses")) << ran.output;
  EXPECT_FALSE(bench_->pump_on());
  bench_->start();
  EXPECT_TRUE(bench_->let_pulse_begin()) << bench_->log();
  EXPECT_EQ(latches(), 0);
  EXPECT_EQ(bench_->stop(), 0);
}

}  // namespace
}  // namespace limegate::test
