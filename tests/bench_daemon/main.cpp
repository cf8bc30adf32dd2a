// The daemon, driven by a clock that a test shares with it. Only tests build this: a fast clock in
// front of a real reactor would dose milk. Once a file CLOCKFILE.live is there, time goes on as it
// does in life; while one CLOCKFILE.block is there, no serial write comes back.
// usage: bench_daemon CLOCKFILE CONFIG, and any command of limegate's

#include <chrono>
#include <cstdio>
#include <exception>
#include <filesystem>
#include <string>
#include <thread>

#include <sys/syscall.h>
#include <unistd.h>

#include "app/command_line.h"
#include "app/given_config.h"
#include "app/log.h"
#include "app/pace.h"
#include "app/run_command.h"
#include "support/shared_clock.h"

namespace {

std::string block_file;  // NOLINT: set once, before there are threads

class SharedPace : public limegate::app::Pace {
 public:
  explicit SharedPace(const char* path) : clock_(path) {}
  [[nodiscard]] const limegate::ports::Clock& clock() const override { return clock_; }
  [[nodiscard]] std::string boot_id() const override { return clock_.boot_id(); }
  [[nodiscard]] Kind kind() const override {
    return live_.joinable() ? Kind::real : Kind::lock_step;
  }
  void pass(limegate::Duration by) override {
    while (!std::filesystem::exists(live_file_)) {
      if (clock_.take_tick()) {
        clock_.advance(by);
        return;
      }
      std::this_thread::sleep_for(std::chrono::microseconds{200});
    }
    live_ = std::jthread{[this](const std::stop_token& stop) { live(stop); }};
  }

 private:
  void live(const std::stop_token& stop) {
    auto last = std::chrono::steady_clock::now();
    while (!stop.stop_requested()) {
      std::this_thread::sleep_for(std::chrono::milliseconds{10});
      const auto now = std::chrono::steady_clock::now();
      clock_.advance(now - last);
      last = now;
    }
  }

  limegate::test::SharedClock clock_;
  std::string live_file_ = clock_.path() + ".live";
  std::jthread live_;
};

}  // namespace

/// A driver that never comes back from a write is rare, and no pty can play it.
// NOLINTNEXTLINE(readability-inconsistent-declaration-parameter-name): theirs are reserved
extern "C" ssize_t write(int file, const void* bytes, size_t count) {
  while (!block_file.empty() && ::isatty(file) == 1 && ::access(block_file.c_str(), F_OK) == 0) {
    ::usleep(10'000);
  }
  return ::syscall(SYS_write, file, bytes, count);
}

int main(int argc, char** argv) try {
  if (argc != 3) {
    return limegate::app::command_line(argc, argv);  // it may become `limegate off`
  }
  block_file = std::string{argv[1]} + ".block";
  const auto given = limegate::app::load_given(argv[2]);
  if (!given) {
    std::fputs("the config is refused\n", stderr);
    return 2;
  }
  limegate::app::start_log();
  SharedPace pace{argv[1]};
  return limegate::app::run(*given, pace, limegate::app::View::log, limegate::app::Past::as_it_is);
} catch (const std::exception& error) {
  std::fprintf(stderr, "bench_daemon: %s\n", error.what());
  return 1;
}
