// The daemon, driven by a clock that a test shares with it. Only tests build this: a fast clock in
// front of a real reactor would dose milk. usage: bench_daemon CLOCKFILE CONFIG

#include <cstdio>
#include <exception>
#include <thread>

#include "app/given_config.h"
#include "app/log.h"
#include "app/pace.h"
#include "app/run_command.h"
#include "support/shared_clock.h"

namespace {

class SharedPace : public limegate::app::Pace {
 public:
  explicit SharedPace(const char* path) : clock_(path) {}
  [[nodiscard]] const limegate::ports::Clock& clock() const override { return clock_; }
  [[nodiscard]] std::string boot_id() const override { return clock_.boot_id(); }
  [[nodiscard]] Kind kind() const override { return Kind::lock_step; }
  void pass(limegate::Duration by) override {
    while (!clock_.take_tick()) {
      std::this_thread::sleep_for(std::chrono::microseconds{200});
    }
    clock_.advance(by);
  }

 private:
  limegate::test::SharedClock clock_;
};

}  // namespace

int main(int argc, char** argv) try {
  if (argc != 3) {
    std::fputs("usage: bench_daemon CLOCKFILE CONFIG\n", stderr);
    return 2;
  }
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
