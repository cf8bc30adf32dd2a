#include "station/bench.h"

#include "station/part.h"

namespace limegate::station {
namespace {

void keep(const StoreLatch& latch, History& history) {
  std::erase(history.latches, latch.code);
  if (latch.to == StoreLatch::To::latched) {
    history.latches.push_back(latch.code);
  }
}

void keep(const BookEntry& entry, History& history) {
  std::erase_if(history.book, [&](const BookEntry& old) { return old.number == entry.number; });
  history.book.push_back(entry);
}

}  // namespace

Settings Bench::usual() {
  Settings settings = part_settings();
  settings.name = "reef";
  return settings;
}

Settings Bench::observed() {
  Settings settings = usual();
  settings.stirrer = StirrerKind::observed;
  return settings;
}

Bench::Bench(const Settings& settings, const History& history, Moment start)
    : now(start), core(settings, history, start), begun_with_(history) {}

Bench::~Bench() = default;
Bench::Bench(const Bench&) = default;
Bench& Bench::operator=(const Bench&) = default;
Bench::Bench(Bench&&) noexcept = default;
Bench& Bench::operator=(Bench&&) noexcept = default;

Effects Bench::see(const Observation& observation) {
  Effects effects = observe(observation);
  answer_all();
  return effects;
}

Answer Bench::command(const station::Command& what, Origin origin) {
  Station::Commanded done = core.command(now, what, origin);
  note(done.effects);
  answer_all();
  return done.answer;
}

Effects Bench::report(rules::OutletRole role, Command command, Result result) {
  return see(OutletReport{role, command, result, "as the test says"});
}

Effects Bench::second() {
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

void Bench::run(Duration duration) {
  for (const Instant end = now.mono + duration; now.mono < end;) {
    second();
  }
}

std::size_t Bench::raised(const std::string& code) const {
  std::size_t count = 0;
  for (const Effect& effect : log) {
    const auto* raise = std::get_if<Raise>(&effect);
    count += raise != nullptr && raise->event.code == code ? 1U : 0U;
  }
  return count;
}

bool Bench::alert_stands(const std::string& id) const {
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

Event Bench::newest_event(const std::string& code) const {
  Event newest;
  for (const Effect& effect : log) {
    const auto* raise = std::get_if<Raise>(&effect);
    newest = raise != nullptr && raise->event.code == code ? raise->event : newest;
  }
  return newest;
}

bool Bench::held_for(const std::string& code) const {
  for (const Status::Held& held : core.status(now).holds) {
    if (held.code == code) {
      return true;
    }
  }
  return false;
}

void Bench::note(const Effects& effects) {
  log.insert(log.end(), effects.begin(), effects.end());
  waiting_.insert(waiting_.end(), effects.begin(), effects.end());
}

Effects Bench::observe(const Observation& observation) {
  Effects effects = core.observe(now, observation);
  for (const Effect& effect : effects) {
    ran_in_observe = ran_in_observe || std::holds_alternative<Run>(effect);
  }
  note(effects);
  return effects;
}

/// What a ledger and outlets that work say to each effect; nothing to most.
struct Bench::Answers {
  Bench& bench;
  using Reaction = std::optional<Observation>;

  template <class Kind>
  Reaction operator()(const Kind& /*needs none*/) const {
    return std::nullopt;
  }
  Reaction operator()(const AppendPulse& append) const {
    return bench.ledger_answers ? Reaction{PulseDurable{append.pulse.id}} : std::nullopt;
  }
  Reaction operator()(const AppendStir& append) const {
    return bench.ledger_answers ? Reaction{StirDurable{append.stir.id}} : std::nullopt;
  }
  Reaction operator()(const StoreBookEntry& store) const {
    return bench.ledger_answers ? Reaction{BookEntryDurable{store.entry.number}} : std::nullopt;
  }
  Reaction operator()(const Run& effect) const {
    Reaction answer = reported(effect.role, Command::run, Result::on);
    if (answer) {
      bench.ends(effect.role) = bench.now.mono + effect.duration;
    }
    return answer;
  }
  Reaction operator()(const SwitchOff& effect) const {
    Reaction answer = reported(effect.role, Command::off, Result::off);
    if (answer) {
      bench.ends(effect.role) = bench.now.mono;
    }
    return answer;
  }
  Reaction operator()(const ReadBack& effect) const {
    const bool on = bench.now.mono < bench.ends(effect.role);
    return reported(effect.role, Command::read_back, on ? Result::on : Result::off);
  }
  [[nodiscard]] Reaction reported(rules::OutletRole role, Command command, Result result) const {
    const bool answers =
        role == rules::OutletRole::pump ? bench.pump_answers : bench.stirrer_answers;
    return answers ? Reaction{OutletReport{role, command, result, ""}} : std::nullopt;
  }
};

void Bench::answer_all() {
  while (!waiting_.empty()) {
    const Effect effect = waiting_.front();
    waiting_.pop_front();
    if (const auto reaction = std::visit(Answers{*this}, effect)) {
      observe(*reaction);
    }
  }
}

History Bench::history() const {
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
