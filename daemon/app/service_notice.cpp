#include "app/service_notice.h"

#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <utility>

#include <sys/socket.h>
#include <sys/un.h>
#include <systemd/sd-daemon.h>
#include <unistd.h>

namespace limegate::app {
namespace {

const char* place() {
  return std::getenv("NOTIFY_SOCKET");  // NOLINT(concurrency-mt-unsafe): nothing changes it
}

}  // namespace

/// As sd_notify(3) does it, but for its waiting: a manager that does not read must not stop the
/// loop, and behind it the watchdog.
ServiceNotice::Told ServiceNotice::tell(const std::string& state) const {
  sockaddr_un address{};
  address.sun_family = AF_UNIX;
  const std::string path = place();
  const std::size_t length = path.copy(address.sun_path, sizeof address.sun_path - 1);
  if (address.sun_path[0] == '@') {
    address.sun_path[0] = '\0';  // an abstract one
  }
  const auto sent = ::sendto(socket_, state.data(), state.size(), MSG_DONTWAIT | MSG_NOSIGNAL,
                             reinterpret_cast<const sockaddr*>(&address),
                             static_cast<socklen_t>(offsetof(sockaddr_un, sun_path) + length));
  return sent < 0 ? Told::no : Told::yes;
}

ServiceNotice::ServiceNotice() : wanted_(place() != nullptr) {
  std::uint64_t timeout_us = 0;
  if (wanted_) {
    socket_ = ::socket(AF_UNIX, SOCK_DGRAM | SOCK_CLOEXEC, 0);
  }
  if (wanted_ && sd_watchdog_enabled(0, &timeout_us) > 0) {
    // The manual asks for half at the latest; a step comes once a second, so a quarter leaves room.
    ping_every_ = std::chrono::microseconds{timeout_us / 4};
  }
}

ServiceNotice::~ServiceNotice() {
  if (socket_ >= 0) {
    ::close(socket_);
  }
}

void ServiceNotice::good_step(const std::function<std::string()>& line) {
  if (!wanted_) {
    return;
  }
  std::string news;
  std::string status = line();
  if (status != line_) {
    news += "STATUS=" + status + "\n";
  }
  if (!ready_) {
    news += "READY=1\n";
  }
  const auto now = Clock::now();
  const bool ping = ping_every_ > Clock::duration::zero() && now >= next_ping_;
  if (ping) {
    news += "WATCHDOG=1\n";
  }
  // What could not be told is told with the next step.
  if (!news.empty() && tell(news) == Told::yes) {
    line_ = std::move(status);
    ready_ = true;
    next_ping_ = ping ? now + ping_every_ : next_ping_;
  }
}

void ServiceNotice::stopping() const {
  if (wanted_) {
    (void)tell("STOPPING=1\nSTATUS=Switching everything off");
  }
}

}  // namespace limegate::app
