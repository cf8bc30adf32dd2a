#pragma once

#include <optional>
#include <vector>

#include "station/station.h"

namespace limegate::station {

/// The core driven by hand: time moves by `second`, effects are kept, and a test answers them.
class Driven {
 public:
  static Settings settings() {
    using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
    Settings settings;
    settings.name = "reef";
    settings.limits.settle = 20min;
    settings.limits.proven = 1min;
    settings.limits.hour = Millilitres{300};
    settings.limits.day = Millilitres{2000};
    settings.ph.plausible_low = 7.0;
    settings.ph.plausible_high = 9.2;
    settings.temperature.plausible_low = 15;
    settings.temperature.plausible_high = 35;
    settings.plan.day_volume = Millilitres{2000};
    settings.plan.pulse_max = Millilitres{20};
    settings.plan.pump_rate = MillilitresPerMinute{60};
    settings.plan.stir = {15min, 60min};
    settings.plan.settle = 20min;
    return settings;
  }

  explicit Driven(const Settings& chosen = settings(), const History& history = {})
      : core(chosen, history, now) {}

  /// One second: readings, then the step. Returns the step's effects; all are kept too.
  Effects second(double ph = 8.2) {
    now.mono += std::chrono::seconds{1};
    now.wall += std::chrono::seconds{1};
    if (readings) {
      // A ripple: a value that never moves is rightly taken for stuck.
      ripple = -ripple;
      tell(ProbeSample{rules::Role::ph, ph + ripple});
      tell(ProbeSample{rules::Role::temperature, 25.0 + 10 * ripple});
    }
    Effects effects = core.step(now);
    keep(effects);
    return effects;
  }
  Effects tell(const Observation& observation) {
    Effects effects = core.observe(now, observation);
    keep(effects);
    return effects;
  }
  Effects report(rules::OutletRole role, OutletReport::Command command,
                 OutletReport::Result result) {
    return tell(OutletReport{role, command, result, "by the test"});
  }

  /// Answers everything as a world in good order would, until nothing is left to answer.
  void answer(const Effects& effects) {
    using Command = OutletReport::Command;
    using Result = OutletReport::Result;
    std::vector<Effect> waiting{effects.begin(), effects.end()};
    while (!waiting.empty()) {
      const Effect effect = waiting.front();
      waiting.erase(waiting.begin());
      Effects more;
      if (const auto* pulse = std::get_if<AppendPulse>(&effect)) {
        more = tell(PulseDurable{pulse->pulse.id});
      } else if (const auto* stir = std::get_if<AppendStir>(&effect)) {
        more = tell(StirDurable{stir->stir.id});
      } else if (const auto* run = std::get_if<Run>(&effect)) {
        until(run->role) = now.mono + run->duration;
        more = report(run->role, Command::run, Result::on);
      } else if (const auto* off = std::get_if<SwitchOff>(&effect)) {
        until(off->role).reset();
        more = report(off->role, Command::off, Result::off);
      } else if (const auto* look = std::get_if<ReadBack>(&effect)) {
        const auto end = until(look->role);
        more = report(look->role, Command::read_back,
                      end && *end > now.mono ? Result::on : Result::off);
      }
      waiting.insert(waiting.end(), more.begin(), more.end());
    }
  }
  /// Answers all but what belongs to the pump's next pulse: its row and its run.
  void answer_others(const Effects& effects) {
    Effects others;
    for (const Effect& effect : effects) {
      const auto* run = std::get_if<Run>(&effect);
      if (!std::holds_alternative<AppendPulse>(effect) &&
          (run == nullptr || run->role != rules::OutletRole::pump)) {
        others.push_back(effect);
      }
    }
    answer(others);
  }
  /// Seconds of a world in good order.
  void live(Duration duration, double ph = 8.2) {
    for (Duration passed{}; passed < duration; passed += std::chrono::seconds{1}) {
      answer(second(ph));
    }
  }
  /// Lives until the core asks for a pulse's row, which is left unanswered; its effect.
  std::optional<AppendPulse> live_until_reserved() {
    for (int i = 0; i < 4 * 3600; ++i) {
      const Effects effects = second();
      if (const auto* pulse = first<AppendPulse>(effects)) {
        answer_others(effects);
        return *pulse;
      }
      answer(effects);
    }
    return std::nullopt;
  }

  template <class What>
  static const What* first(const Effects& effects) {
    for (const Effect& effect : effects) {
      if (const auto* what = std::get_if<What>(&effect)) {
        return what;
      }
    }
    return nullptr;
  }
  template <class What>
  [[nodiscard]] int count() const {
    int found = 0;
    for (const Effect& effect : all) {
      found += std::holds_alternative<What>(effect) ? 1 : 0;
    }
    return found;
  }
  [[nodiscard]] int events(const std::string& code) const {
    int found = 0;
    for (const Effect& effect : all) {
      const auto* raised = std::get_if<Raise>(&effect);
      found += raised != nullptr && raised->event.code == code ? 1 : 0;
    }
    return found;
  }
  [[nodiscard]] bool held(const std::string& code) const {
    for (const auto& hold : core.status(now).holds) {
      if (hold.code == code) {
        return true;
      }
    }
    return false;
  }
  std::optional<Instant>& until(rules::OutletRole role) {
    return role == rules::OutletRole::pump ? pump_until : stirrer_until;
  }

  Moment now{Instant{std::chrono::hours{1}}, WallTime{std::chrono::hours{24 * 20000}}};
  bool readings = true;
  double ripple = 0.006;
  std::optional<Instant> pump_until;
  std::optional<Instant> stirrer_until;
  Effects all;
  Station core;

 private:
  void keep(const Effects& effects) { all.insert(all.end(), effects.begin(), effects.end()); }
};

}  // namespace limegate::station
