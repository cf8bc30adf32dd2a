#include "app/slow_sync.h"

#include <array>
#include <atomic>
#include <mutex>
#include <thread>

#include <sys/syscall.h>
#include <unistd.h>

namespace limegate::test {
namespace {

struct Slow {
  std::mutex mutex;
  std::chrono::milliseconds takes{0};
  std::string part;
  std::atomic<int> count{0};
};
Slow& slow() {
  static Slow slow;
  return slow;
}

void wait_for_the_disk(int file) {
  std::array<char, 4096> path{};
  const std::string link = "/proc/self/fd/" + std::to_string(file);
  const ssize_t length = ::readlink(link.c_str(), path.data(), path.size());
  std::chrono::milliseconds takes{0};
  {
    const std::lock_guard lock{slow().mutex};
    const std::string name{path.data(), length > 0 ? static_cast<std::size_t>(length) : 0};
    takes = name.find(slow().part) != std::string::npos ? slow().takes : takes;
  }
  if (takes.count() > 0) {
    ++slow().count;
    std::this_thread::sleep_for(takes);
  }
}

}  // namespace

void slow_sync(std::chrono::milliseconds takes, const std::string& part) {
  const std::lock_guard lock{slow().mutex};
  slow().takes = takes;
  slow().part = part;
  slow().count = 0;
}

void quick_sync() { slow_sync(std::chrono::milliseconds{0}, ""); }

int slow_syncs() { return slow().count; }

}  // namespace limegate::test

// The system's names, and no reserved ones for what they take.
// NOLINTBEGIN(readability-identifier-naming, readability-inconsistent-declaration-parameter-name)
extern "C" int fsync(int file) {
  limegate::test::wait_for_the_disk(file);
  return static_cast<int>(::syscall(SYS_fsync, file));
}
extern "C" int fdatasync(int file) {
  limegate::test::wait_for_the_disk(file);
  return static_cast<int>(::syscall(SYS_fdatasync, file));
}
// NOLINTEND(readability-identifier-naming, readability-inconsistent-declaration-parameter-name)
