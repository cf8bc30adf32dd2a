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
  static Settings usual() {
    Settings settings;
    settings.name = "reef";
    settings.limits.hour = Millilitres{200.0};
    settings.limits.day = Millilitres{720.0};
    settings.ph.plausible_low = settings.limits.ph_plausible_low;
    settings.ph.plausible_high = settings.limits.ph_plausible_high;
    settings.temperature.plausible_low = settings.limits.temperature_plausible_low;
    settings.temperature.plausible_high = settings.limits.temperature_plausible_high;
    settings.plan.day_volume = Millilitres{720.0};
    settings.plan.pulse_max = Millilitres{30.0};
    settings.plan.pump_rate = MillilitresPerMinute{40.0};
    settings.pump_rate_dated = true;
    return settings;
  }
  static Settings observed() {
    Settings settings = usual();
    settings.stirrer = StirrerKind::observed;
    return settings;
  }

  explicit Bench(const Settings& settings = usual(), const History& history = {},
                 Moment start = {Instant{std::chrono::hours{100}},
                                 WallTime{std::chrono::hours{500000}}})
      : now(start), core(settings, history, start), begun_with_(history) {}

  /// Hands an observation to the core now; effects are logged and, where allowed, answered.
  Effects see(const Observation& observation) {
    Effects effects = observe(observation);
    answer_all();
    return effects;
  }
  /// A command from somewhere; what follows from it is carried out like any effect.
  Answer command(const station::Command& what, Origin origin = Origin::station) {
    Station::Commanded done = core.command(now, what, origin);
    note(done.effects);
    answer_all();
    return done.answer;
  }
  Effects report(rules::OutletRole role, Command command, Result result) {
    return see(OutletReport{role, command, result, "as the test says"});
  }
  Effects pump(Command command, Result result) {
    return report(rules::OutletRole::pump, command, result);
  }
  Effects stirrer(Command command, Result result) {
    return report(rules::OutletRole::stirrer, command, result);
  }

  /// One second later: healthy samples, then a step.
  Effects second() {
    now.mono += std::chrono::seconds{1};
    now.wall += std::chrono::seconds{1};
    if (samples) {
      const bool even = (now.mono.time_since_epoch() / std::chrono::minutes{1}) % 2 == 0;
      see(ProbeSample{rules::Role::ph, ph + (even ? 0.01 : 0.0)});
      see(ProbeSample{rules::Role::temperature, even ? temperature + 0.1 : temperature});
    }
    for (std::size_t i = 0; i < inputs.size(); ++i) {
      see(InputSample{rules::OwnerRulebook::kFirstOwn + i, inputs[i]});
    }
    Effects effects = core.step(now);
    note(effects);
    answer_all();
    return effects;
  }
  void run(Duration duration) {
    for (const Instant end = now.mono + duration; now.mono < end;) {
      second();
    }
  }

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
  [[nodiscard]] std::size_t raised(const std::string& code) const {
    std::size_t count = 0;
    for (const Effect& effect : log) {
      const auto* raise = std::get_if<Raise>(&effect);
      count += raise != nullptr && raise->event.code == code ? 1U : 0U;
    }
    return count;
  }
  /// Whether an alert was raised and has not ended; one that waits to be seen never does here.
  [[nodiscard]] bool alert_stands(const std::string& id) const {
    bool stands = false;
    for (const Effect& effect : log) {
      if (const auto* raise = std::get_if<Raise>(&effect)) {
        const Event& event = raise->event;
        const bool begins = event.severity == Severity::alert &&
                            (event.begins.empty() ? event.code : event.begins) == id;
        stands = begins || (stands && event.ends != id);
      }
    }
    return stands;
  }
  [[nodiscard]] Event newest_event(const std::string& code) const {
    Event newest;
    for (const Effect& effect : log) {
      const auto* raise = std::get_if<Raise>(&effect);
      newest = raise != nullptr && raise->event.code == code ? raise->event : newest;
    }
    return newest;
  }
  [[nodiscard]] bool held_for(const std::string& code) const {
    for (const Status::Held& held : core.status(now).holds) {
      if (held.code == code) {
        return true;
      }
    }
    return false;
  }
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
  using Reaction = std::optional<Observation>;

  void note(const Effects& effects) {
    log.insert(log.end(), effects.begin(), effects.end());
    waiting_.insert(waiting_.end(), effects.begin(), effects.end());
  }
  Effects observe(const Observation& observation) {
    Effects effects = core.observe(now, observation);
    for (const Effect& effect : effects) {
      ran_in_observe = ran_in_observe || std::holds_alternative<Run>(effect);
    }
    note(effects);
    return effects;
  }
  void answer_all() {
    while (!waiting_.empty()) {
      const Effect effect = waiting_.front();
      waiting_.pop_front();
      const Reaction reaction =
          std::visit([this](const auto& what) { return answer_to(what); }, effect);
      if (reaction) {
        observe(*reaction);
      }
    }
  }
  template <class Kind>
  Reaction answer_to(const Kind& /*needs none*/) {
    return std::nullopt;
  }
  Reaction answer_to(const AppendPulse& append) {
    return ledger_answers ? Reaction{PulseDurable{append.pulse.id}} : std::nullopt;
  }
  Reaction answer_to(const AppendStir& append) {
    return ledger_answers ? Reaction{StirDurable{append.stir.id}} : std::nullopt;
  }
  Reaction answer_to(const StoreBookEntry& store) {
    return ledger_answers ? Reaction{BookEntryDurable{store.entry.number}} : std::nullopt;
  }
  [[nodiscard]] Reaction reported(rules::OutletRole role, Command command, Result result) const {
    const bool answers = role == rules::OutletRole::pump ? pump_answers : stirrer_answers;
    return answers ? Reaction{OutletReport{role, command, result, ""}} : std::nullopt;
  }
  Instant& ends(rules::OutletRole role) {
    return role == rules::OutletRole::pump ? pump_until : stirrer_until;
  }
  Reaction answer_to(const Run& effect) {
    Reaction answer = reported(effect.role, Command::run, Result::on);
    ends(effect.role) = answer ? now.mono + effect.duration : ends(effect.role);
    return answer;
  }
  Reaction answer_to(const SwitchOff& effect) {
    Reaction answer = reported(effect.role, Command::off, Result::off);
    ends(effect.role) = answer ? now.mono : ends(effect.role);
    return answer;
  }
  Reaction answer_to(const ReadBack& effect) {
    const bool on = now.mono < ends(effect.role);
    return reported(effect.role, Command::read_back, on ? Result::on : Result::off);
  }

  std::deque<Effect> waiting_;
  History begun_with_;
};

inline void keep(const StoreLatch& latch, History& history) {
  std::erase(history.latches, latch.code);
  if (latch.to == StoreLatch::To::latched) {
    history.latches.push_back(latch.code);
  }
}

inline void keep(const BookEntry& entry, History& history) {
  std::erase_if(history.book, [&](const BookEntry& old) { return old.number == entry.number; });
  history.book.push_back(entry);
}

inline History Bench::history() const {
  History history = begun_with_;
  const auto forget = [&](Wish::What what) {
    std::erase_if(history.wishes, [&](const Wish& wish) { return wish.what == what; });
  };
  std::optional<StirRecord> stir;
  for (const Effect& effect : log) {
    if (const auto* append = std::get_if<AppendPulse>(&effect)) {
      const PulseRecord& pulse = append->pulse;
      history.newest_pulse_id = pulse.id;
      history.newest_end = pulse.end.lifetime;
      history.newest_reserved = Instant{pulse.reserved.lifetime};
      history.open_pulse = pulse;
      std::erase_if(history.doses, [&](const dosing::Dose& dose) { return dose.id == pulse.id; });
      history.doses.push_back({pulse.id, pulse.end, pulse.volume});
    } else if (const auto* closed = std::get_if<ClosePulse>(&effect)) {
      history.open_pulse.reset();
      history.doses.back().volume = closed->counted;
      if (closed->fate != Fate::not_given && closed->fate != Fate::unsure) {
        history.newest_given = history.doses.back().end;
      }
    } else if (const auto* begun = std::get_if<AppendStir>(&effect)) {
      stir = begun->stir;
      history.newest_stir_id = stir->id;
      history.last_stir.reset();
    } else if (const auto* ended = std::get_if<CloseStir>(&effect); ended != nullptr && stir) {
      history.last_stir =
          History::LastStir{Instant{stir->start.lifetime}, Instant{ended->end.lifetime}};
    } else if (const auto* latch = std::get_if<StoreLatch>(&effect)) {
      keep(*latch, history);
    } else if (const auto* wish = std::get_if<StoreWish>(&effect)) {
      forget(wish->wish.what);
      history.wishes.push_back(wish->wish);
    } else if (const auto* over = std::get_if<ForgetWish>(&effect)) {
      forget(over->what);
    } else if (const auto* volume = std::get_if<StoreVolumeInForce>(&effect)) {
      history.volumes.push_back(volume->volume);
    } else if (const auto* kept = std::get_if<StoreBookEntry>(&effect)) {
      keep(kept->entry, history);
    } else if (const auto* quarter = std::get_if<StoreQuarter>(&effect)) {
      history.usual_course[static_cast<std::size_t>(quarter->quarter)] = quarter->learned;
    } else if (const auto* learned = std::get_if<StoreEffect>(&effect)) {
      history.effect = learned->learned;
    } else if (const auto* cycle = std::get_if<StoreCycle>(&effect)) {
      history.dose_cycles.push_back(cycle->cycle);
    } else if (std::holds_alternative<ForgetCycles>(effect)) {
      history.dose_cycles.clear();
    } else if (const auto* anchored = std::get_if<StoreAnchor>(&effect)) {
      history.anchor = anchored->learned;
    } else if (const auto* reference = std::get_if<StoreReference>(&effect)) {
      history.reference = reference->learned;
    }
  }
  history.seen = core.seen();
  return history;
}

}  // namespace limegate::station
