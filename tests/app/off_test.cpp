// `limegate off`, the built program: at a port that refuses, and beside a running daemon.

#include <array>
#include <atomic>
#include <chrono>
#include <csignal>
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

}  // namespace
}  // namespace limegate::test
