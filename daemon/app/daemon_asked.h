#pragma once

#include <condition_variable>
#include <functional>
#include <mutex>
#include <set>
#include <string>
#include <thread>
#include <utility>

namespace limegate::app {

/// What a running daemon said to `limegate off`, and what came of it.
struct DaemonSays {
  enum class Promise {
    not_asked,
    nobody_there,  ///< no daemon runs with this state directory
    stays_off,     ///< until a person releases it
    none           ///< it runs, and did not say so in time: it may dose again
  } promise = Promise::not_asked;
  std::string why;  ///< there is none
  /// Station and outlet ("pump", "stirrer") that it has read back to be off since it was asked.
  std::set<std::pair<std::string, std::string>> confirmed;
};

/// Asks the running daemon to switch everything off and to keep it off, and then looks what it has
/// confirmed, in a thread of its own: who switches does not wait for it. The promise is asked for
/// once, and takes a second at most.
class DaemonAsked {
 public:
  /// Called from its thread, with everything that is known by then.
  using Tell = std::function<void(const DaemonSays&)>;
  DaemonAsked(std::string socket, Tell tell);
  /// Waits for the promise; looks no more.
  ~DaemonAsked();
  DaemonAsked(const DaemonAsked&) = delete;
  DaemonAsked(DaemonAsked&&) = delete;
  DaemonAsked& operator=(const DaemonAsked&) = delete;
  DaemonAsked& operator=(DaemonAsked&&) = delete;

 private:
  void ask();
  void ask_and_look();
  [[nodiscard]] bool over();

  std::string socket_;
  Tell tell_;
  std::mutex mutex_;
  std::condition_variable changed_;
  bool over_ = false;
  std::thread thread_;
};

}  // namespace limegate::app
