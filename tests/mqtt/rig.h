#pragma once

#include <atomic>
#include <chrono>
#include <functional>
#include <mutex>
#include <optional>
#include <string>
#include <thread>
#include <vector>

#include <boost/asio/executor_work_guard.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/steady_timer.hpp>

#include "mqtt/surface.h"

namespace limegate::test {

/// A made-up daemon with two stations in front of a real broker: a loop that ticks, and the
/// surface under test. Everything of the surface runs in the loop's thread, as in the daemon.
class Rig {
 public:
  explicit Rig(mqtt::Settings settings,
               std::chrono::milliseconds tick = std::chrono::milliseconds{20},
               std::vector<mqtt::InputTopic> inputs = {});
  ~Rig();  // NOLINT(bugprone-exception-escape): a loop that can't be stopped may end the program
  Rig(const Rig&) = delete;
  Rig& operator=(const Rig&) = delete;
  Rig(Rig&&) = delete;
  Rig& operator=(Rig&&) = delete;

  /// Settings for a broker on the loopback address, with short waits.
  [[nodiscard]] static mqtt::Settings settings(int port);
  /// Two stations, "reef" with its gate open and two inputs, "frag" held for two reasons.
  [[nodiscard]] static station::Overview overview();

  /// Changes what is shown, between two ticks.
  void change(const std::function<void(station::Overview&)>& how);
  /// As the daemon's clean end does.
  void stop();

  /// What was asked for, as "STATION NAME", and what was told, as "STATION CODE SENTENCE".
  [[nodiscard]] std::vector<std::string> commands() const;
  [[nodiscard]] std::vector<std::string> events() const;
  /// What came for an input last, as "INPUT VALUE"; empty: nothing yet.
  [[nodiscard]] std::string newest_input() const;
  [[nodiscard]] int count_events(const std::string& part) const;
  [[nodiscard]] bool told(const std::string& part) const { return count_events(part) > 0; }

  /// Of all ticks since the last time it was asked. A show that the scheduler interrupted, for
  /// somebody else's sake, says nothing of the surface and is left out; one that waits counts.
  struct Pace {
    std::size_t ticks, whole_shows;
    double show_p50_us, show_p99_us, show_max_us;
    double late_p50_us, late_p99_us, late_max_us;  ///< of the tick itself
  };
  [[nodiscard]] Pace pace();
  /// False if it does not tick so often from now on.
  [[nodiscard]] bool wait_for_ticks(std::size_t ticks);

 private:
  void arm();
  void tick();
  station::Answer obey(const std::string& station, const alerts::Asked& command);

  std::chrono::milliseconds every_;
  boost::asio::io_context loop_{1};
  boost::asio::executor_work_guard<boost::asio::io_context::executor_type> work_;
  boost::asio::steady_timer timer_;
  mutable std::mutex mutex_;
  station::Overview overview_;
  std::vector<std::string> commands_;
  std::vector<std::string> events_;
  std::string newest_input_;
  std::vector<double> shows_, lates_;
  std::size_t ticks_ = 0;
  std::optional<mqtt::Surface> surface_;
  std::thread thread_;
};

}  // namespace limegate::test
