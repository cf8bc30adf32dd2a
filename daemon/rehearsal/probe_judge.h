#pragma once

#include <optional>

#include "rehearsal/promise.h"
#include "units/time.h"

namespace limegate::rehearsal {

/// Judges pulses by what one probe has shown to the program.
/// Threads: one owner.
class ProbeJudge {
 public:
  struct Limits {
    const char* name;  ///< for people: "pH"
    double low, high;  ///< plausible, inclusive
    Duration age_max{};
    std::optional<Duration> age_flowing;  ///< while the pump runs; absent: as ever
    Duration stuck_after{};               ///< zero: it may stand for ever
    double jump = 0.3;                    ///< so much within `jump_window` ...
    Duration jump_window = std::chrono::seconds{30};
    Duration steady_for = std::chrono::minutes{5};  ///< ... keeps it uncertain for so long
  };
  explicit ProbeJudge(const Limits& limits) : limits_(limits) {}

  void restarted(Duration now);
  /// Each second in which the program runs; absent: no answer reached it.
  void shown(Duration now, const std::optional<double>& value);
  /// A pulse is commanded.
  void judge_pulse(Verdicts& verdicts) const;
  /// Limewater flows by command, since then.
  void judge_flow(Duration since, Verdicts& verdicts) const;
  /// Since when it has been heard of, plausible and without a jump; absent: it is not so now.
  [[nodiscard]] const std::optional<Duration>& good_since() const { return good_since_; }

 private:
  [[nodiscard]] bool plausible(double value) const {
    return value >= limits_.low && value <= limits_.high;
  }
  void look_for_jump(Duration now, double value);

  Limits limits_;
  Duration up_since_{};
  std::optional<Duration> newest_, changed_, implausible_since_, unsteady_at_, good_since_;
  double value_ = 0;
  struct Block {
    Duration began{};
    double lowest = 0, highest = 0;
  };
  std::optional<Block> block_, former_;  ///< each of half a window
};

}  // namespace limegate::rehearsal
