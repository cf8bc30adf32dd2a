// The client against daemons that are not there, hang, or answer a byte at a time.

#include "web/control_client.h"

#include <array>
#include <chrono>
#include <cstring>
#include <thread>

#include <gtest/gtest.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include "support/program.h"

namespace limegate::test {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using Clock = std::chrono::steady_clock;
using web::ControlClient;
using Fault = ControlClient::Fault;

/// A socket that somebody listens at; what becomes of who comes is the test's.
class Door {
 public:
  explicit Door(int queue) : socket_(::socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0)) {
    sockaddr_un address{};
    address.sun_family = AF_UNIX;
    std::memcpy(address.sun_path, path().c_str(), path().size());
    EXPECT_EQ(::bind(socket_, reinterpret_cast<const sockaddr*>(&address), sizeof address), 0);
    EXPECT_EQ(::listen(socket_, queue), 0);
  }
  ~Door() { ::close(socket_); }
  Door(const Door&) = delete;
  Door& operator=(const Door&) = delete;
  Door(Door&&) = delete;
  Door& operator=(Door&&) = delete;

  [[nodiscard]] std::string path() const { return folder_.path() + "/control.sock"; }
  [[nodiscard]] int let_in() const { return ::accept(socket_, nullptr, nullptr); }

 private:
  TempDir folder_;
  int socket_;
};

TEST(ControlClients, tell_a_daemon_that_is_not_there_from_one_that_lets_nobody_in) {
  const TempDir folder;
  const auto nobody = ControlClient::connect(folder.path() + "/control.sock", Clock::now() + 1s);
  ASSERT_FALSE(nobody);
  EXPECT_EQ(nobody.error().fault, Fault::nobody_there);

  const Door door{0};
  const auto in_the_queue = ControlClient::connect(door.path(), Clock::now() + 1s);
  ASSERT_TRUE(in_the_queue);
  const auto refused = ControlClient::connect(door.path(), Clock::now() + 50ms);
  ASSERT_FALSE(refused);
  EXPECT_EQ(refused.error().fault, Fault::broken) << "its queue is full: it hangs";
}

TEST(ControlClients, wait_no_longer_than_their_deadline_for_an_answer) {
  const Door door{1};
  auto client = ControlClient::connect(door.path(), Clock::now() + 50ms);
  ASSERT_TRUE(client);
  const auto silent = client->ask("status", nlohmann::json::object());
  ASSERT_FALSE(silent);
  EXPECT_EQ(silent.error().fault, Fault::broken);
  EXPECT_NE(silent.error().sentence.find("did not answer in time"), std::string::npos);
}

TEST(ControlClients, gain_a_daemon_that_trickles_its_answer_no_time) {
  const Door door{1};
  auto client = ControlClient::connect(door.path(), Clock::now() + 100ms);
  ASSERT_TRUE(client);
  const int end = door.let_in();
  std::thread daemon{[end] {
    while (::send(end, " ", 1, MSG_NOSIGNAL) == 1) {
      std::this_thread::sleep_for(10ms);
    }
    ::close(end);
  }};
  const auto trickled = client->ask("status", nlohmann::json::object());
  { const ControlClient gone{std::move(*client)}; }
  daemon.join();
  ASSERT_FALSE(trickled) << "only an end of ours ends the trickle";
  EXPECT_EQ(trickled.error().fault, Fault::broken);
}

TEST(ControlClients, listen_to_a_daemon_that_floods_no_longer_than_to_any_other) {
  const Door door{1};
  auto client = ControlClient::connect(door.path(), Clock::now() + 100ms);
  ASSERT_TRUE(client);
  const int end = door.let_in();
  std::thread daemon{[end] {
    const std::string flood(4096, ' ');
    while (::send(end, flood.data(), flood.size(), MSG_NOSIGNAL) > 0) {
    }
    ::close(end);
  }};
  const auto flooded = client->ask("status", nlohmann::json::object());
  { const ControlClient gone{std::move(*client)}; }
  daemon.join();
  ASSERT_FALSE(flooded);
  EXPECT_EQ(flooded.error().fault, Fault::broken);
}

}  // namespace
}  // namespace limegate::test
