#pragma once

#include <cstddef>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "rehearsal/news_judge.h"
#include "rehearsal/promise.h"
#include "rules/owner_rule.h"
#include "units/quantities.h"
#include "units/time.h"

namespace limegate::rehearsal {

/// Judges what is commanded by what people said: switched off, paused, a run that was asked for,
/// what waits for their release, and the owner's rules.
/// Threads: one owner.
class PeopleJudge {
 public:
  struct Settings {
    rules::OwnerRulebook owner;
    Millilitres least_pulse;  ///< one step of the board's timer; zero: none
    Millilitres day_volume;   ///< as the file says
    Duration settle;
  };
  explicit PeopleJudge(const Settings& settings)
      : settings_(settings),
        wishes_{{Duration{}, settings.day_volume, {}}},
        inputs_(settings.owner.inputs.size()) {}

  void restarted();
  /// A boot knows only of the time that the program was seen to run.
  void rebooted(Duration now, Duration unknown);
  /// A person switched everything off, and the program said that it stays off; `kept` = it could
  /// write that down.
  void all_off_promised(Duration now, bool kept);
  void released(std::string_view code);
  /// A person's test of alkalinity is in the book; `kept` as above.
  enum class Tested { bearable, too_high };
  void alkalinity_tested(Duration now, Tested how, bool kept);
  /// An older copy of everything but the witness: that knows of latches, and of nothing else that
  /// people said.
  void state_put_back();
  /// The program accepted a pause; none ends it.
  enum class For { hands_in_the_tank, work_at_the_reactor };
  void paused_until(std::optional<Duration> until, For what = For::hands_in_the_tank);
  /// The wall clock was moved: by how long a pause goes on after a boot nobody can say.
  void clock_moved() { pause_.reset(); }
  /// A person at the station set the day's volume; from afar nobody can set more.
  void day_volume_set(Duration now, Millilitres volume);
  /// The most that was to be given in some day of the last one: what was set, or the file's.
  [[nodiscard]] Millilitres most_wished(Duration now) const;
  /// And the least.
  [[nodiscard]] Millilitres least_wished(Duration now) const;
  /// The program said that it is over, also before all of it was given.
  void attended_over() { attended_.reset(); }
  void attended_run(Duration now, Millilitres asked) { attended_ = {now, now, asked}; }
  /// What an owner's input shows; absent: nothing.
  void input_shown(std::size_t input, Duration now, std::optional<double> value);

  struct Second {
    Duration now{};
    bool writes = true;  ///< what is to be kept is written within seconds
    const std::vector<std::string>* waits_for_person = nullptr;  ///< the program's own codes
  };
  /// Each second in which the program runs.
  void second(const Second& second);
  void judge_stir(Verdicts& verdicts) const;
  /// Whether the owner's rules that only tell have told.
  void judge_calls(const NewsJudge& news, Verdicts& verdicts) const;
  void judge_flow(Verdicts& verdicts) const;
  /// Whether the pulse belongs to a run that somebody attends.
  [[nodiscard]] bool judge_pulse(Millilitres volume, Duration duration, Verdicts& verdicts);

 private:
  /// Something that must outlive a crash once it could be written for long enough.
  struct Kept {
    Duration writable{};
    [[nodiscard]] bool durable() const;
  };
  struct Pause {
    Duration until;
    For what;
    Kept kept;
  };
  struct Attended {
    Duration asked_at, last;  ///< when the last pulse ended
    Millilitres left;
  };
  struct InputShown {
    std::optional<double> value;
    Duration since{};
  };
  [[nodiscard]] bool in_force_lately(std::size_t wish, Duration now) const;
  void judge_owner(Verdicts& verdicts) const;
  /// By what its inputs show, or because they say nothing.
  [[nodiscard]] bool surely_met(const rules::OwnerRule& rule, Duration now) const;

  Settings settings_;
  std::optional<Duration> off_since_;  ///< everything, by a person's word
  Kept off_kept_;
  std::optional<Duration> too_high_since_;  ///< alkalinity, by the newest test
  Kept too_high_kept_;
  std::map<std::string, Kept, std::less<>> latched_;
  std::vector<std::string> released_now_;  ///< its holds are those of the step before
  std::optional<Pause> pause_;
  std::optional<Duration> worked_until_;  ///< at the reactor
  struct Wish {
    Duration since;
    Millilitres volume;
    Kept kept;
  };
  Duration ran_at_{};
  std::vector<Wish> wishes_;  ///< the file's first, then what was set
  std::optional<Attended> attended_;
  std::vector<InputShown> inputs_;
};

}  // namespace limegate::rehearsal
