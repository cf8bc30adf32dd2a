#pragma once

#include <chrono>
#include <functional>
#include <map>
#include <memory>
#include <string>
#include <vector>

#include "support/program.h"
#include "support/wait_until.h"

namespace limegate::test {

/// A TCP port on the loopback address that nobody listens on just now.
[[nodiscard]] int free_port();

/// A real mosquitto of our own on the loopback address. It keeps nothing over a restart.
class Broker {
 public:
  /// `config` is appended to the broker's file; `client` to every foreign client's arguments.
  explicit Broker(std::string config = "allow_anonymous true\n",
                  std::vector<std::string> client = {});

  void start();
  void kill();
  [[nodiscard]] int port() const { return port_; }

  /// Everything that is retained below the filter, by topic: one foreign client's view. It may need
  /// a minute on a busy machine; who may not read $SYS waits that long.
  [[nodiscard]] std::map<std::string, std::string> kept(
      const std::string& filter = "homie/#") const;
  /// Publishes with mosquitto_pub; `more` are its own options.
  void publish(const std::string& topic, const std::string& payload,
               const std::vector<std::string>& more = {}) const;
  /// Arguments by which a foreign client reaches us.
  [[nodiscard]] std::vector<std::string> reach() const;
  [[nodiscard]] std::string log() const { return read_file(folder_.path() + "/log"); }
  [[nodiscard]] const std::string& folder() const { return folder_.path(); }

 private:
  TempDir folder_;
  int port_;
  std::vector<std::string> client_;
  std::unique_ptr<Program> program_;
};

/// A foreign subscriber that writes down all it hears, in order, as "RETAINED TOPIC PAYLOAD".
class Subscriber {
 public:
  explicit Subscriber(const Broker& broker, const std::string& filter = "homie/#");
  [[nodiscard]] std::vector<std::string> lines() const;
  [[nodiscard]] bool heard(const std::string& part) const;

 private:
  TempDir folder_;
  Program program_;
};

}  // namespace limegate::test
