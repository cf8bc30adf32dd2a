#pragma once

#include <atomic>
#include <cstdint>
#include <string>

#include "ports/clock.h"

namespace limegate::test {

/// Both clocks and the boot id of a pretended machine, in a file that several processes map: the
/// daemon under test advances the time, the slave and the test read it, and the test may step the
/// wall clock or boot the machine anew. It outlives a killed daemon.
/// Threads: any, in any process.
class SharedClock final : public ports::Clock {
 public:
  /// Maps the file and creates it if need be (monotonic 1 h after boot, wall clock in 2026).
  explicit SharedClock(const std::string& path);
  ~SharedClock() override;
  SharedClock(const SharedClock&) = delete;
  SharedClock& operator=(const SharedClock&) = delete;
  SharedClock(SharedClock&&) = delete;
  SharedClock& operator=(SharedClock&&) = delete;

  [[nodiscard]] Moment now() const override;
  void advance(Duration by);
  void step_wall(Duration by);
  /// Whether anybody has set the wall clock in this boot; somebody has unless told so.
  void trust_wall(bool trusted) { face_->unset = trusted ? 0 : 1; }
  /// A reboot: another boot id, the monotonic clock begins anew, the wall clock is set. The machine
  /// has been up for `up` since.
  void reboot(WallTime wall, Duration up = std::chrono::seconds{20});
  [[nodiscard]] std::string boot_id() const;
  [[nodiscard]] const std::string& path() const { return path_; }

  /// At most this many ticks may pass in the daemon until more are granted; -1 = no bound.
  void grant_ticks(std::int64_t ticks);
  /// Takes one granted tick; false if none is left.
  bool take_tick();
  /// How often none was left: it grows while the daemon has nothing to do but to wait for time.
  [[nodiscard]] std::int64_t ticks_missed() const;

 private:
  struct Face {
    std::atomic<std::int64_t> mono;
    std::atomic<std::int64_t> wall;
    std::atomic<std::int64_t> boot;
    std::atomic<std::int64_t> ticks;
    std::atomic<std::int64_t> missed;
    std::atomic<std::int64_t> unset;
  };
  std::string path_;
  Face* face_ = nullptr;
};

}  // namespace limegate::test
