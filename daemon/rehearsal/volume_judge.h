#pragma once

#include <deque>
#include <optional>

#include "rehearsal/promise.h"
#include "units/quantities.h"
#include "units/time.h"

namespace limegate::rehearsal {

/// Judges how much is commanded, and in which time. Chemistry is its own, of what was shown.
/// Threads: one owner.
class VolumeJudge {
 public:
  struct Limits {
    Millilitres hour, day;  ///< sliding
    PhChange pulse_rise, hour_rise;
    /// The tested water, by which volumes are sized; absent: none was tested.
    struct Water {
      Litres volume;
      Dkh alkalinity;
      Salinity salinity;
    };
    std::optional<Water> water;
    Millilitres least_pulse;     ///< one step of the board's timer; zero: none
    Duration window_every{};     ///< from stir to stir: one that did not come opens a window too
    Millilitres window_share;    ///< of the day's volume, between two stirs; zero: not judged
    Millilitres pulse_max;       ///< of the plan: one may be due beyond the day's volume
    Millilitres day_in_file;     ///< wished there; half of it is the most while the rate is unknown
    bool rate_measured = false;  ///< the pump's, as the file says
  };
  explicit VolumeJudge(const Limits& limits) : limits_(limits) {}

  /// By a test of the keeper's: what chemistry allows goes by it from then on.
  void tested(Dkh alkalinity) {
    if (limits_.water) {
      limits_.water->alkalinity = alkalinity;
    }
  }

  /// The stirrer is or was to be on, whether it turns or not; or the program begins, which settles
  /// anew.
  void window_begins(Duration now) {
    in_window_ = Millilitres{};
    window_began_ = now;
  }
  struct Pulse {
    Millilitres volume;
    bool attended = false;
    std::optional<double> ph;  ///< the highest that was shown lately: there water answers least
    std::optional<double> temperature;
    Millilitres most_wished;  ///< what a day of the last one was to get at most
    /// The program has learned what doses do, and that is what a sound station's do.
    bool effect_known = false;
  };
  void pulse(const Pulse& pulse, Verdicts& verdicts);
  /// An off ended the last one early: no more than this can have been commanded.
  void ended_at(Millilitres flowed);
  /// In so long a time before now.
  [[nodiscard]] Millilitres within(Duration window, Duration now) const;

 private:
  struct Command {
    Duration at;
    Millilitres volume;
  };
  void judge_chemistry(const Pulse& pulse, Verdicts& verdicts) const;
  void judge_day(const Pulse& pulse, Verdicts& verdicts) const;

  Limits limits_;
  std::deque<Command> commands_;  ///< of 24 h
  std::optional<Duration> rate_known_at_;
  Duration window_began_{};
  Millilitres in_window_;  ///< as planned: an early end gives nothing back
};

}  // namespace limegate::rehearsal
