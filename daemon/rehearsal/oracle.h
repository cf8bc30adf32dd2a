#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "rehearsal/climb_judge.h"
#include "rehearsal/news_judge.h"
#include "rehearsal/people_judge.h"
#include "rehearsal/probe_judge.h"
#include "rehearsal/promise.h"
#include "rehearsal/volume_judge.h"
#include "rehearsal/water_judge.h"
#include "rules/limits.h"
#include "station/settings.h"
#include "units/quantities.h"
#include "units/time.h"

namespace limegate::rehearsal {

/// Judges what the daemon commanded, by what is true in the simulated world: its promises stand in
/// promise.h, each with its slack. It shares no code with rules, dosing, guard or signal. Its time
/// is the world's own: it never steps and never restarts.
/// Threads: one owner.
class Oracle {
 public:
  explicit Oracle(const station::Settings& settings);

  /// A second begins: true time since the start.
  void begin_second(Duration now) { verdicts_.begin_second(now); }
  /// What is true in it, after the program's step.
  struct World {
    bool program_runs = false;
    bool stirs = false;
    bool stirrer_relay_on = false;
    bool pump_relay_on = false;
    bool board_obeys = true;  ///< an off command that is sent now is carried out
    /// What reached the program in this second.
    std::optional<double> ph, second_ph, temperature;
    Millilitres flowed;          ///< truly, in the second before the step
    bool sees_well = true;       ///< no fault but a siphon is at work
    double rate_factor = 1.0;    ///< what flows by command, in times of the file's rate
    bool otherwise_well = true;  ///< no fault but of that rate is at work
    Duration write_takes{};      ///< of the disk
    bool writes = true;          ///< it takes what is written
    bool stirrer_told = true;    ///< what the program hears of an observed stirrer is true
    NewsJudge::Second::Board board = NewsJudge::Second::Board::answers;  ///< of the outlets
    const std::vector<std::string>* waits_for_person = nullptr;  ///< the program's own codes
  };
  void second(const World& world);

  /// The pump was commanded to run for pulse `id`; `counted` = what the ledger's file says of it.
  void pump_commanded(std::int64_t id, Duration duration, std::optional<Millilitres> counted,
                      const WaterJudge::Learned& learned);
  /// What people are told, and what the disk did with rows.
  [[nodiscard]] NewsJudge& news() { return news_; }
  /// The ledger's row of this pulse was begun or closed.
  void row_written(std::int64_t id, std::optional<Millilitres> counted);
  void stirrer_commanded();
  /// What people do and say.
  [[nodiscard]] PeopleJudge& people() { return people_; }
  /// A person's test of alkalinity was written down; `kept` = it could be.
  void alkalinity_tested(Dkh level, bool kept);
  /// A person released what this hold's code says.
  void released(std::string_view code);
  /// The program begins; `unwatched` = nothing on this boot can tell how pH went in the last half
  /// hour; `slots_known` = the ledger is there that tells which slots were used.
  void restarted(bool unwatched, bool slots_known);
  /// The machine boots anew: what it was up since the newest row is not known to it.
  void rebooted();
  /// What flows in the second that begins now because it was commanded, at the highest rate.
  [[nodiscard]] Millilitres flows_by_command() const { return flows_; }
  [[nodiscard]] Duration longest_pause() const { return longest_pause_; }

  /// The course is over. All faults ended `healed_for` ago and no hold waits for a person: dosing
  /// must go on.
  void must_dose_again(Duration healed_for);

  /// As Verdicts::lines().
  [[nodiscard]] const std::vector<std::string>& violations() const { return verdicts_.lines(); }
  void broken(Promise promise, const std::string& detail) { verdicts_.broken(promise, detail); }

 private:
  void listen(const World& world);
  void judge_flow(const World& world);
  void judge_ph();
  void compare_probes();

  rules::Limits limits_;
  MillilitresPerMinute rate_;
  Duration pulse_max_{}, timer_step_{}, stir_every_{};
  Millilitres day_volume_;

  Verdicts verdicts_;
  ProbeJudge ph_;
  std::optional<ProbeJudge> second_ph_;
  ProbeJudge temperature_;
  ClimbJudge climb_;
  VolumeJudge volumes_;
  WaterJudge water_;
  PeopleJudge people_;
  NewsJudge news_;

  World world_;  ///< of the last second
  Duration up_since_{};
  bool proven_ = false;
  std::optional<Duration> stirred_at_, flowed_at_, relay_on_since_, slow_since_, deaf_since_;
  std::optional<Duration> unheard_since_;  ///< of the outlets
  std::optional<Duration> above_since_, second_above_since_, second_ceiling_since_;
  std::optional<Duration> apart_since_, far_apart_since_;
  double apart_ = 0;                            ///< the two pH probes, signed
  std::map<std::int64_t, Millilitres> flowed_;  ///< by command, of the last pulses
  std::int64_t newest_id_ = 0;
  Duration commanded_until_{};
  Millilitres flows_;
  Duration commanded_at_{};  ///< a pulse; or the start
  Duration longest_pause_{};
};

}  // namespace limegate::rehearsal
