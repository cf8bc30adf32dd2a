#pragma once

#include <atomic>
#include <thread>

namespace limegate::test {

/// Passes bytes between one client at a time and a port, all on the loopback address, until it is
/// told to hang: then connections stay open, new ones are accepted, and nothing is passed on.
/// That is how a broker looks whose machine lost its network.
class TcpProxy {
 public:
  explicit TcpProxy(int to_port);
  ~TcpProxy();
  TcpProxy(const TcpProxy&) = delete;
  TcpProxy& operator=(const TcpProxy&) = delete;
  TcpProxy(TcpProxy&&) = delete;
  TcpProxy& operator=(TcpProxy&&) = delete;

  [[nodiscard]] int port() const { return port_; }
  void hang(bool hanging) { hanging_ = hanging; }

 private:
  void run();
  void pass(int client);

  int to_port_;
  int listener_;
  int port_;
  std::atomic<bool> hanging_{false};
  std::atomic<bool> stopping_{false};
  std::thread thread_;
};

}  // namespace limegate::test
