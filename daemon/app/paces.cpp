#include "app/paces.h"

#include <fstream>
#include <thread>

#include <fmt/format.h>

namespace limegate::app {

std::string kernel_boot_id() {
  std::string id;
  return std::ifstream{"/proc/sys/kernel/random/boot_id"} >> id ? id : std::string{};
}

std::string RealPace::boot_id() const {
  const std::string id = kernel_boot_id();
  // Without the kernel's word every start counts as a boot of its own, which only waits longer.
  return !id.empty() ? id : fmt::format("start-{}", clock_.now().wall.time_since_epoch().count());
}

AcceleratedPace::AcceleratedPace(double acceleration)
    : acceleration_(acceleration),
      // As after a boot of the machine: its own uptime is not the simulated world's.
      clock_({Instant{std::chrono::minutes{1}}, SystemClock{}.now().wall}),
      next_(std::chrono::steady_clock::now()) {}

std::string AcceleratedPace::boot_id() const {
  // A virtual clock begins anew with each start, so no two starts share their monotonic time.
  static const std::string id =
      fmt::format("simulated-{}", SystemClock{}.now().wall.time_since_epoch().count());
  return id;
}

void AcceleratedPace::pass(Duration by) {
  clock_.advance(by);
  next_ += std::chrono::duration_cast<std::chrono::steady_clock::duration>(by / acceleration_);
  const auto now = std::chrono::steady_clock::now();
  if (next_ + std::chrono::seconds{1} < now) {
    next_ = now;  // the machine can't keep up: don't race afterwards
  }
  std::this_thread::sleep_until(next_);
}

}  // namespace limegate::app
