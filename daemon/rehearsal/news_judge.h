#pragma once

#include <map>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "rehearsal/promise.h"
#include "signal/conditioner.h"
#include "station/settings.h"
#include "units/quantities.h"
#include "units/time.h"

namespace limegate::rehearsal {

/// Judges whether people were told of what needs them: by what is true in the world, and by the
/// alerts that stand. An alert stands from the event that begins it to the one that ends it, also
/// over restarts, for people go on seeing it.
/// Threads: one owner.
class NewsJudge {
 public:
  explicit NewsJudge(const station::Settings& settings);

  /// A person was told something: by the code of the event, if it is an alert, and the ids of what
  /// it begins and ends; empty: nothing.
  struct Told {
    std::string_view alert, begins, ends;
  };
  void told(Duration now, const Told& what);
  [[nodiscard]] bool stands(const std::string& alert) const { return standing_.count(alert) > 0; }

  void restarted(Duration now);
  /// What the machine was up for so long before the boot is not known to it.
  void rebooted(Duration unknown);
  enum class By { plan, person };
  /// A pulse was commanded. What somebody has run is no sign that dosing goes on by itself.
  void pulse(Duration now, Duration lasting, By by);
  /// The disk refused a row of the ledger, or has written one, `took` after it was asked to.
  void row_refused();
  void row_written(Duration now, Duration took);

  struct Second {
    bool program_runs = false;
    std::optional<double> ph, second_ph, temperature;            ///< as they reached the program
    const std::vector<std::string>* waits_for_person = nullptr;  ///< the program's own codes
    enum class Board { answers, late, silent } board = Board::answers;
    bool pump_relay_on = false;
    bool stirrer_told = true;  ///< what the program hears of an observed stirrer is true
  };
  void second(const Second& second, Verdicts& verdicts);
  /// Each minute: what was commanded within 24 h, and what a day was to get at least.
  void minute(Millilitres given, Millilitres wished, Verdicts& verdicts);

 private:
  /// What needs a person for as long as it is there, and the alerts of which one must stand then.
  struct Need {
    Promise promise{};
    std::vector<std::string> alerts;
    Duration within{};
    std::optional<Duration> since = {};
    bool missed = false;  ///< which was said
  };
  struct Probe {
    double low, high;  ///< plausible
    Duration stuck_after{};
    Need silent, not_a_number, implausible, stuck;
    std::optional<double> value = {};  ///< absent: none since the start
    Duration changed{};
  };
  static Probe probe(const std::string& name, const signal::Conditioning& probe);
  void need(Need& need, bool is, Verdicts& verdicts) const;
  void look_at(Probe& probe, const std::optional<double>& shown, Verdicts& verdicts) const;
  void judge_latches(const std::vector<std::string>& codes, Verdicts& verdicts);
  void judge_silence(Verdicts& verdicts);

  Millilitres day_volume_;
  double usual_low_, usual_high_;  ///< temperature, °C
  std::set<std::string, std::less<>> standing_;
  std::map<std::string, Need, std::less<>> latches_;  ///< by their codes
  Probe ph_, temperature_;
  std::optional<Probe> second_ph_;
  Need outlet_, stirrer_, relay_, temperature_unusual_, refused_, slow_;
  int runs_without_relay_ = 0;
  bool relay_was_on_ = true;  ///< or nobody can say, since the newest long pulse was sent
  bool row_refused_ = false;
  std::optional<Duration> first_late_, newest_late_;  ///< of the rows that came late in a row
  Duration up_since_{}, commanded_at_{}, planned_at_{}, up_since_planned_{};
  std::optional<Duration> told_of_dosing_at_, told_of_doses_at_, too_little_since_;
  bool silence_told_ = false, shortfall_told_ = false;
};

}  // namespace limegate::rehearsal
