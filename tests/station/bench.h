#pragma once

#include <chrono>
#include <deque>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "station/station.h"

namespace limegate::station {

using RunEffect = Run;  ///< testing::Test has a Run of its own

/// Drives a core by hand: a healthy tank, a ledger and two outlets that answer at once, unless a
/// test takes one of them over and answers in its place.
class Bench {
 public:
  using Command = OutletReport::Command;
  using Result = OutletReport::Result;

  /// 720 mL a day: 60 mL a window of 45 min, so two pulses of 30 mL, 45 s each at 40 mL/min.
  static Settings usual();
  static Settings observed();

  explicit Bench(const Settings& settings = usual(), const History& history = {},
                 Moment start = {Instant{std::chrono::hours{100}},
                                 WallTime{std::chrono::hours{500000}}});
  ~Bench();
  // Compiled once, and not with each test.
  Bench(const Bench&);
  Bench& operator=(const Bench&);
  Bench(Bench&&) noexcept;
  Bench& operator=(Bench&&) noexcept;

  /// Hands an observation to the core now; effects are logged and, where allowed, answered.
  Effects see(const Observation& observation);
  /// A command from somewhere; what follows from it is carried out like any effect.
  Answer command(const station::Command& what, Origin origin = Origin::station);
  Effects report(rules::OutletRole role, Command command, Result result);
  Effects pump(Command command, Result result) {
    return report(rules::OutletRole::pump, command, result);
  }
  Effects stirrer(Command command, Result result) {
    return report(rules::OutletRole::stirrer, command, result);
  }

  /// One second later: healthy samples, then a step.
  Effects second();
  void run(Duration duration);

  /// Goes on until an effect of this kind is emitted, at most `most`; the newest such effect.
  template <class Kind>
  std::optional<Kind> until(Duration most = std::chrono::hours{3}) {
    const std::size_t before = count<Kind>();
    for (const Instant end = now.mono + most; now.mono < end;) {
      second();
      if (count<Kind>() > before) {
        return newest<Kind>();
      }
    }
    return std::nullopt;
  }

  template <class Kind>
  [[nodiscard]] std::size_t count() const {
    std::size_t count = 0;
    for (const Effect& effect : log) {
      count += std::holds_alternative<Kind>(effect) ? 1U : 0U;
    }
    return count;
  }
  template <class Kind>
  [[nodiscard]] std::optional<Kind> newest() const {
    for (auto effect = log.rbegin(); effect != log.rend(); ++effect) {
      if (const auto* kind = std::get_if<Kind>(&*effect)) {
        return *kind;
      }
    }
    return std::nullopt;
  }
  [[nodiscard]] std::size_t raised(const std::string& code) const;
  /// Whether an alert was raised and has not ended; one that waits to be seen never does here.
  [[nodiscard]] bool alert_stands(const std::string& id) const;
  [[nodiscard]] Event newest_event(const std::string& code) const;
  [[nodiscard]] bool held_for(const std::string& code) const;
  /// What a ledger would say at a start in this boot, by the rows that were written.
  [[nodiscard]] History history() const;
  [[nodiscard]] PumpDuty::Phase phase() const { return core.status(now).pump; }

  Moment now;
  Station core;
  double ph = 8.2;
  double temperature = 25.0;
  bool samples = true;                        ///< each second, healthy ones
  std::vector<std::optional<double>> inputs;  ///< of the owner's rules, shown each second
  bool ledger_answers = true;
  bool pump_answers = true;
  bool stirrer_answers = true;
  bool ran_in_observe = false;
  Instant pump_until{}, stirrer_until{};  ///< the outlets, as they truly are
  std::vector<Effect> log;

 private:
  void note(const Effects& effects);
  Effects observe(const Observation& observation);
  struct Answers;
  void answer_all();
  Instant& ends(rules::OutletRole role) {
    return role == rules::OutletRole::pump ? pump_until : stirrer_until;
  }

  std::deque<Effect> waiting_;
  History begun_with_;
};

}  // namespace limegate::station
