#pragma once

#include <cstdint>
#include <deque>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "rules/limits.h"
#include "units/quantities.h"
#include "units/time.h"

namespace limegate::rehearsal {

/// Judges what the daemon commanded, by what is true in the simulated world. It shares no code with
/// rules, dosing or guard. Its time is the world's own: it never steps and never restarts.
/// Threads: one owner.
class Oracle {
 public:
  struct Promises {
    rules::Limits limits;
    MillilitresPerMinute rate;
    Duration pulse_max{};
    Duration ph_stuck_after{}, temperature_stuck_after{};
    Millilitres day_volume;
    Duration timer_step{};  ///< of the board that ends a pulse; zero: none
  };
  explicit Oracle(const Promises& promises) : promises_(promises) {}

  /// A second begins: true time since the start.
  void begin_second(Duration now) { now_ = now; }
  /// What is true in it, after the program's step.
  struct World {
    bool program_runs = false;
    bool stirs = false;
    bool pump_relay_on = false;
    bool board_obeys = true;  ///< an off command that is sent now is carried out
    /// What reached the program in this second.
    std::optional<double> ph, temperature;
  };
  void second(const World& world);

  /// The pump was commanded to run for pulse `id`; `counted` = what the ledger's file says of it.
  void pump_commanded(std::int64_t id, Duration duration, std::optional<Millilitres> counted);
  /// The ledger's row of this pulse was begun or closed.
  void row_written(std::int64_t id, std::optional<Millilitres> counted);
  void stirrer_commanded();
  /// A person switched everything off, and the program said that it stays off; `kept` = it could
  /// write that down.
  void all_off_promised(bool kept);
  /// What it could not write down it has written down now.
  void promises_kept() { off_kept_ = true; }
  /// A person released what this hold's code says.
  void released(std::string_view code);
  /// The ledger that held the latches is gone: then a day counts as full and a person is told.
  void latches_gone();
  /// A person was told of something.
  void alerted() { alerted_at_ = now_; }
  void restarted();
  /// The machine boots anew: what it was up since the newest row is not known to it.
  void rebooted();
  /// What flows in the second that begins now because it was commanded, at the highest rate.
  [[nodiscard]] Millilitres flows_by_command() const { return flows_; }
  [[nodiscard]] Duration longest_pause() const { return longest_pause_; }

  /// The course is over. All faults ended `healed_for` ago and no hold waits for a person: dosing
  /// must go on.
  void must_dose_again(Duration healed_for);

  /// One line for each promise that was broken.
  [[nodiscard]] const std::vector<std::string>& violations() const { return violations_; }
  void broken(const std::string& promise);

 private:
  struct Command {
    Duration at;
    Millilitres volume;
  };
  /// What one probe has shown lately.
  struct Evidence {
    std::optional<Duration> newest, changed, implausible_since;
    double value = 0;
    void take(Duration now, Duration up_since, const std::optional<double>& shown, double low,
              double high);
  };
  void judge_evidence();
  void judge_allowance();
  void judge_silence();
  [[nodiscard]] Millilitres within(Duration window) const;

  Promises promises_;
  Duration now_{};
  Duration up_since_{};
  std::optional<Duration> stirred_at_;
  Evidence ph_, temperature_;
  std::optional<Duration> above_since_, second_above_since_, second_ceiling_since_;
  std::deque<Command> commands_;
  std::map<std::int64_t, Millilitres> flowed_;  ///< by command, of the last pulses
  std::int64_t newest_id_ = 0;
  Duration commanded_until_{};
  Millilitres flows_;
  std::optional<Duration> off_since_;  ///< everything, by a person's word
  bool off_kept_ = false;
  Duration commanded_at_{};  ///< or the start
  Duration up_since_command_{};
  Duration longest_pause_{};
  std::optional<Duration> alerted_at_;
  bool silence_told_ = false;
  std::vector<std::string> violations_;
};

}  // namespace limegate::rehearsal
