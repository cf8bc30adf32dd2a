#pragma once

#include <array>
#include <cstdint>
#include <optional>

#include "rehearsal/promise.h"
#include "units/time.h"

namespace limegate::rehearsal {

/// Judges pulses by how far the shown pH has climbed, whatever filter the program has: all that was
/// shown in the last minute lies above all that was shown in some calm minute of the window.
/// Of two probes the higher one counts.   Threads: one owner.
class ClimbJudge {
 public:
  struct Limits {
    double climb = 0.12;
    Duration window = std::chrono::minutes{30};
    Duration undisturbed = std::chrono::seconds{60};  ///< how long pump and stirrer disturb
  };
  explicit ClimbJudge(const Limits& limits) : limits_(limits) {}

  /// The machine booted, or the program was down for so long that nobody can tell of the window.
  void nobody_watched(Duration now) { unwatched_at_ = now; }
  struct Second {
    std::optional<double> ph;  ///< as it reached the program; absent: it did not
    bool disturbed = false;    ///< the pump's relay is on, or the stirrer turns
  };
  void second(Duration now, const Second& second);
  void judge_pulse(Verdicts& verdicts) const;
  /// The most that was shown in this minute and the five before; absent if nothing was.
  [[nodiscard]] std::optional<double> highest_lately(Duration now) const;

 private:
  static constexpr std::int64_t kMinutes = 64;
  struct Minute {
    std::int64_t number = -1;
    double lowest = 0, highest = 0;
    int seconds = 0;
    bool disturbed = false;
  };
  [[nodiscard]] const Minute& minute(std::int64_t number) const {
    return minutes_.at(static_cast<std::size_t>(number % kMinutes));
  }

  Limits limits_;
  std::optional<Duration> disturbed_at_, unwatched_at_;
  std::array<Minute, kMinutes> minutes_{};
  std::array<double, 60> last_minute_{};  ///< by second; NaN: nothing was shown
};

}  // namespace limegate::rehearsal
