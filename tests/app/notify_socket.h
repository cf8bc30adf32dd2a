#pragma once

#include <chrono>
#include <memory>
#include <string>
#include <vector>

#include <gtest/gtest.h>
#include <poll.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include "support/places.h"
#include "support/program.h"

namespace limegate::test {

/// The service manager's end of the protocol of sd_notify(3): a datagram socket by name.
class NotifySocket {
 public:
  NotifySocket() : path_(folder_.path() + "/notify"), socket_(::socket(AF_UNIX, SOCK_DGRAM, 0)) {
    sockaddr_un address{};
    address.sun_family = AF_UNIX;
    path_.copy(address.sun_path, sizeof address.sun_path - 1);
    EXPECT_EQ(::bind(socket_, reinterpret_cast<const sockaddr*>(&address), sizeof address), 0);
  }
  ~NotifySocket() { ::close(socket_); }
  NotifySocket(const NotifySocket&) = delete;
  NotifySocket& operator=(const NotifySocket&) = delete;
  NotifySocket(NotifySocket&&) = delete;
  NotifySocket& operator=(NotifySocket&&) = delete;

  /// Starts the built daemon as a manager would; `watchdog` as WATCHDOG_USEC.
  std::unique_ptr<Program> start(const std::string& config, std::chrono::microseconds watchdog) {
    return std::make_unique<Program>(
        std::vector<std::string>{"/usr/bin/env", environment(watchdog)[0], environment(watchdog)[1],
                                 limegate_path(), "run", config},
        log());
  }
  [[nodiscard]] std::vector<std::string> environment(std::chrono::microseconds watchdog) const {
    return {"NOTIFY_SOCKET=" + path_, "WATCHDOG_USEC=" + std::to_string(watchdog.count())};
  }
  [[nodiscard]] std::string log() const { return folder_.path() + "/log"; }
  /// Until nothing more can be told.
  void fill() const {
    sockaddr_un address{};
    address.sun_family = AF_UNIX;
    path_.copy(address.sun_path, sizeof address.sun_path - 1);
    const int out = ::socket(AF_UNIX, SOCK_DGRAM, 0);
    while (::sendto(out, "x", 1, MSG_DONTWAIT, reinterpret_cast<const sockaddr*>(&address),
                    sizeof address) == 1) {
    }
    ::close(out);
  }

  /// Everything that is told within this time; each message ends a line.
  std::string listen(std::chrono::milliseconds within) {
    std::string told;
    const auto until = std::chrono::steady_clock::now() + within;
    while (receive(until, told)) {
    }
    return told;
  }
  /// Listens until `word` was told; what was told up to then.
  std::string listen_for(const std::string& word, std::chrono::milliseconds within) {
    std::string told;
    const auto until = std::chrono::steady_clock::now() + within;
    while (!contains(told, word) && receive(until, told)) {
    }
    return told;
  }

 private:
  bool receive(std::chrono::steady_clock::time_point until, std::string& told) const {
    const auto left =
        std::chrono::ceil<std::chrono::milliseconds>(until - std::chrono::steady_clock::now());
    pollfd wait{socket_, POLLIN, 0};
    if (left.count() <= 0 || ::poll(&wait, 1, static_cast<int>(left.count())) <= 0) {
      return false;
    }
    char text[4096];
    const auto length = ::recv(socket_, text, sizeof text, 0);
    told.append(text, length > 0 ? static_cast<std::size_t>(length) : 0).append("\n");
    return length > 0;
  }

  TempDir folder_;
  std::string path_;
  int socket_;
};

}  // namespace limegate::test
