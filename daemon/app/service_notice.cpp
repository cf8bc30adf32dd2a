#include "app/service_notice.h"

#include <cstdint>
#include <cstdlib>
#include <utility>

#include <systemd/sd-daemon.h>

namespace limegate::app {
namespace {

/// What could not be told is lost: a manager that misses it acts by itself.
void tell(const std::string& state) { (void)sd_notify(0, state.c_str()); }

}  // namespace

ServiceNotice::ServiceNotice()
    : wanted_(std::getenv("NOTIFY_SOCKET") != nullptr) {  // NOLINT(concurrency-mt-unsafe): at start
  std::uint64_t timeout_us = 0;
  if (wanted_ && sd_watchdog_enabled(0, &timeout_us) > 0) {
    // The manual asks for half at the latest; a step comes once a second, so a quarter leaves room.
    ping_every_ = std::chrono::microseconds{timeout_us / 4};
  }
}

void ServiceNotice::good_step(const std::function<std::string()>& line) {
  if (!wanted_) {
    return;
  }
  std::string news;
  if (std::string now = line(); now != line_) {
    line_ = std::move(now);
    news += "STATUS=" + line_ + "\n";
  }
  if (!ready_) {
    ready_ = true;
    news += "READY=1\n";
  }
  if (const auto now = Clock::now(); ping_every_ > Clock::duration::zero() && now >= next_ping_) {
    next_ping_ = now + ping_every_;
    news += "WATCHDOG=1\n";
  }
  if (!news.empty()) {
    tell(news);
  }
}

void ServiceNotice::stopping() const {
  if (wanted_) {
    tell("STOPPING=1\nSTATUS=Switching everything off");
  }
}

}  // namespace limegate::app
