#pragma once

#include <atomic>
#include <thread>

namespace limegate::test {

/// The least of a broker of MQTT 5, on the loopback address: one client at a time, whose
/// connection, publications and pings it answers, and whose subscriptions it never does.
class ScriptedBroker {
 public:
  ScriptedBroker();
  ~ScriptedBroker();
  ScriptedBroker(const ScriptedBroker&) = delete;
  ScriptedBroker& operator=(const ScriptedBroker&) = delete;
  ScriptedBroker(ScriptedBroker&&) = delete;
  ScriptedBroker& operator=(ScriptedBroker&&) = delete;

  [[nodiscard]] int port() const { return port_; }
  [[nodiscard]] int connections() const { return connections_; }
  [[nodiscard]] int subscriptions() const { return subscriptions_; }

  /// Ends the present connection with this reason code of a DISCONNECT.
  void end_with(int reason) { ending_ = reason; }

 private:
  void run();
  void serve(int client);
  [[nodiscard]] bool answer_one(int client);

  int listener_;
  int port_;
  std::atomic<int> connections_{0};
  std::atomic<int> subscriptions_{0};
  std::atomic<int> ending_{-1};
  std::atomic<bool> stopping_{false};
  std::thread thread_;
};

}  // namespace limegate::test
