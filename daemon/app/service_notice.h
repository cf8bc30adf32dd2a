#pragma once

#include <chrono>
#include <functional>
#include <string>

namespace limegate::app {

/// What the service manager is told of this daemon, by the protocol of sd_notify(3): ready, alive,
/// a line for people, stopping. Does nothing where nobody listens (no NOTIFY_SOCKET).
/// Threads: the loop thread.
class ServiceNotice {
 public:
  ServiceNotice();
  ~ServiceNotice();
  ServiceNotice(const ServiceNotice&) = delete;
  ServiceNotice& operator=(const ServiceNotice&) = delete;
  ServiceNotice(ServiceNotice&&) = delete;
  ServiceNotice& operator=(ServiceNotice&&) = delete;

  /// A step of every station ran through. The first one means ready: the config was right, the
  /// threads run, every outlet has its off command; no broker and no probe was waited for. Nothing
  /// else feeds the watchdog. `line` is asked only where somebody listens, and told when it
  /// changes.
  void good_step(const std::function<std::string()>& line);

  /// Whether somebody ends this process when no step is told for long.
  [[nodiscard]] bool watched() const { return ping_every_ > Clock::duration::zero(); }

  /// Told to stop: switching off begins.
  void stopping() const;

 private:
  using Clock = std::chrono::steady_clock;
  enum class Told { yes, no };
  [[nodiscard]] Told tell(const std::string& state) const;

  bool wanted_;
  int socket_ = -1;
  Clock::duration ping_every_{};  ///< zero: nobody watches
  Clock::time_point next_ping_{};
  bool ready_ = false;
  std::string line_;
};

}  // namespace limegate::app
