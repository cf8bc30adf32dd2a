#pragma once

#include <deque>
#include <optional>

#include "rehearsal/promise.h"
#include "units/quantities.h"
#include "units/time.h"

namespace limegate::rehearsal {

/// Judges pulses by what doses truly do to the water over hours and days: limewater beyond all
/// commands, a day above the reference, doses that are far too much.
/// Threads: one owner.
class WaterJudge {
 public:
  struct Limits {
    PhChange climb;  ///< unusual
    PhChange rise;   ///< above the reference
    Litres water;
    Millilitres day_volume;
  };
  explicit WaterJudge(const Limits& limits) : limits_(limits) {}

  struct Second {
    std::optional<double> ph;    ///< as it reached the program
    Millilitres beyond;          ///< truly flowed in this second and was not commanded
    bool sees_well = true;       ///< no fault but a siphon is at work
    double rate_factor = 1.0;    ///< what flows by command, in times of the file's rate
    bool otherwise_well = true;  ///< no fault but of that rate is at work
  };
  void second(Duration now, const Second& second);
  void restarted(Duration now) { up_since_ = now; }

  /// What the program has learned, as it says itself.
  struct Learned {
    bool course = false;
    std::optional<Ph> reference;
    bool effect = false;
  };
  /// A pulse is commanded; `day` = all that was within 24 h.
  void judge_pulse(Millilitres day, const Learned& learned, Verdicts& verdicts);

 private:
  struct Minute {
    Duration at;
    double mean;
  };
  Limits limits_;
  Duration up_since_{};
  double beyond_ = 0;   ///< pH that what flowed beyond commands raised, and the air has not taken
  double climbed_ = 0;  ///< how far that went beyond the allowance, while it could be seen
  struct Sum {
    double sum = 0;
    int count = 0;
  } minute_;
  std::deque<Minute> day_;  ///< of 24 h, of minutes that were shown whole
  double day_sum_ = 0;
  std::optional<Duration> too_much_since_, course_since_;
};

}  // namespace limegate::rehearsal
