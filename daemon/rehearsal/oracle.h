#pragma once

#include <cstdint>
#include <deque>
#include <set>
#include <string>
#include <vector>

#include "units/quantities.h"
#include "units/time.h"

namespace limegate::rehearsal {

/// Judges what the daemon commanded, by what is true in the simulated world. It shares no code with
/// rules, dosing or guard. Its time is the world's own: it never steps and never restarts.
/// Threads: one owner.
class Oracle {
 public:
  struct Promises {
    Duration settle{};
    Millilitres hour, day;  ///< the allowances
    MillilitresPerMinute rate;
  };
  explicit Oracle(const Promises& promises) : promises_(promises) {}

  /// What is true at this moment, once a second.
  enum class Stirs { no, yes };
  enum class Pump { off, on };
  void second(Duration world, Stirs stirs, Pump pump);

  /// The pump was commanded to run. `evidence_age` = of the newest sample that truly reached the
  /// program since its start; negative = none did.
  void pump_commanded(std::int64_t id, Duration duration, Duration evidence_age);
  /// The ledger counts so much in all.
  void counted(Millilitres sum);

  /// One line for each promise that was broken.
  [[nodiscard]] const std::vector<std::string>& violations() const { return violations_; }

 private:
  struct Command {
    Duration at;
    Millilitres volume;
  };
  void broken(const std::string& promise);
  [[nodiscard]] Millilitres within(Duration window) const;

  Promises promises_;
  Duration now_{};
  Duration stirred_at_ = Duration::min();
  std::deque<Command> commands_;
  std::set<std::int64_t> ids_;
  Duration commanded_until_{};
  Millilitres flowed_;  ///< by command, at the highest rate, until its end or an early off
  std::vector<std::string> violations_;
};

}  // namespace limegate::rehearsal
