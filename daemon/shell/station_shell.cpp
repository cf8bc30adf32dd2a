#include "shell/station_shell.h"

#include <algorithm>
#include <utility>
#include <variant>

#include "rules/hold.h"
#include "shell/second_copy.h"
#include "station/release_note.h"

namespace limegate::shell {
namespace {

station::OutletReport::Result result_of(guard::Outcome::Result result) {
  using From = guard::Outcome::Result;
  using To = station::OutletReport::Result;
  switch (result) {
    case From::on:
      return To::on;
    case From::off:
      return To::off;
    case From::refused:
      return To::refused;
    case From::unknown:
      return To::unknown;
  }
  std::abort();
}

}  // namespace

StationShell::StationShell(const station::Settings& settings, Parts parts)
    : settings_(settings),
      parts_(std::move(parts)),
      guard_({settings.limits.settle, settings.plan.pulse_duration_max, settings.plan.stir.run},
             {*parts_.pump, parts_.stirrer.get(), *parts_.store, parts_.clock}, parts_.boot,
             parts_.guard_record) {}

void StationShell::begin(const std::optional<station::History>& history) {
  const Moment now = parts_.clock.now();
  blind_ = !history;
  station::History known = history.value_or(station::History{});
  if (blind_) {
    if (const auto copy = second_copy_of(parts_.guard_record); copy && copy->kept) {
      known.latches = copy->kept->latches;
      known.wishes = copy->kept->wishes;
    }
    known.given_in_all.reset();
    known.doses.push_back({0, {now.mono.time_since_epoch(), now.wall}, kCountsAsFull});
  }
  kept_ = kept_of(known);
  noted_.take_from(known.latches, now.mono);
  core_.emplace(settings_, known, now);
  if (!blind_) {
    guard_.keep(kept_);
  } else if (!parts_.guard_record || !parts_.guard_record->kept) {
    // Nobody knows what waits for a person. What is kept from here on is not all there was.
    kept_.latches.push_back(rules::code_of(rules::RecordLost{}));
  }
}

void StationShell::recover(const station::History& history) {
  if (blind_) {
    // What was latched and paused without a ledger stands.
    station::History known = history;
    for (const std::string& code : core_->latches()) {
      if (std::find(known.latches.begin(), known.latches.end(), code) == known.latches.end()) {
        known.latches.push_back(code);
      }
    }
    const Duration pause = core_->status(parts_.clock.now()).pause_remaining;
    begin(known);
    noted_.give_up(known.latches);
    for (const Asked& asked : std::exchange(asked_blindly_, {})) {
      (void)command(asked.volume, asked.origin);
    }
    if (pause > Duration::zero()) {
      (void)command(station::Pause{pause}, station::Origin::station);
    }
  } else {
    station::History again = history;
    noted_.give_up(again.latches);
    core_->recount(parts_.clock.now(), again);
  }
  observe(station::LedgerSound{});
}

void StationShell::step() {
  execute(core_->step(parts_.clock.now()));
  release_what_was_noted();
}

void StationShell::release_what_was_noted() {
  const Moment now = parts_.clock.now();
  for (NotedReleases::Over& over : noted_.try_again(*core_, now)) {
    const bool released = over.answer.verdict == station::Answer::Verdict::accepted;
    over.effects.emplace_back(station::StoreLatch{station::release_note_of(over.hold),
                                                  station::StoreLatch::To::released});
    execute(over.effects);
    parts_.raise(
        settings_.name,
        {now.wall, released ? station::Severity::info : station::Severity::alert,
         released ? "noted-release" : "noted-release-given-up",
         "The release of " + over.hold + ", asked for while limegate stood still" +
             (released ? ", is done. " : ", is not done; if it is still held, say it again. ") +
             over.answer.sentence});
  }
}

void StationShell::observe(const station::Observation& observation) {
  execute(core_->observe(parts_.clock.now(), observation));
}

station::Answer StationShell::command(const station::Command& command, station::Origin origin) {
  station::Station::Commanded done = core_->command(parts_.clock.now(), command, origin);
  if (std::holds_alternative<station::SwitchAllOff>(command)) {
    noted_.latched_anew(rules::code_of(rules::SwitchedOff{}));  // the core has it once
  }
  const auto* volume = std::get_if<station::SetDayVolume>(&command);
  if (blind_ && volume != nullptr && done.answer.verdict == station::Answer::Verdict::accepted) {
    // At the station it ends what was asked for from afar.
    std::erase_if(asked_blindly_, [&](const Asked& asked) {
      return origin == station::Origin::station || asked.origin == origin;
    });
    asked_blindly_.push_back({*volume, origin});
  }
  execute(done.effects);
  return std::move(done.answer);
}

void StationShell::observe_stirrer(const station::StirrerSample& sample) {
  if (sample.running) {
    guard_.observe_stirrer(
        *sample.running ? guard::Record::Stirrer::running : guard::Record::Stirrer::resting,
        sample.at.value_or(parts_.clock.now().mono));
  }
  observe(sample);
}

void StationShell::execute(const station::Effects& effects) {
  for (const station::Effect& effect : effects) {
    std::visit([this](const auto& what) { carry_out(what); }, effect);
  }
  if (std::exchange(kept_changed_, false)) {
    guard_.keep(kept_);  // once for all of them, behind their rows
  }
}

void StationShell::write(const station::Entry& entry, std::function<void()> written) {
  parts_.ledger.write(
      settings_.name, entry, parts_.clock.now().wall,
      [this, written = std::move(written)](const std::optional<std::string>& fault) {
        if (fault) {
          parts_.ledger_failed(*fault);
        } else if (written) {
          written();
        }
      });
}

void StationShell::carry_out(const station::StoreLatch& effect) {
  write(effect, nullptr);
  std::erase(kept_.latches, effect.code);
  if (effect.to == station::StoreLatch::To::latched) {
    kept_.latches.push_back(effect.code);
    noted_.latched_anew(effect.code);
  }
  kept_changed_ = true;
}

void StationShell::carry_out(const station::StoreWish& effect) {
  write(effect, nullptr);
  const guard::Kept::Wish wish = kept_of(effect.wish);
  std::erase_if(kept_.wishes, [&](const guard::Kept::Wish& old) { return old.what == wish.what; });
  kept_.wishes.push_back(wish);
  kept_changed_ = true;
}

void StationShell::carry_out(const station::ForgetWish& effect) {
  write(effect, nullptr);
  std::erase_if(kept_.wishes, [&](const guard::Kept::Wish& old) {
    return old.what == static_cast<int>(effect.what);
  });
  kept_changed_ = true;
}

void StationShell::carry_out(const station::AppendPulse& effect) {
  write(effect, [this, id = effect.pulse.id] { observe(station::PulseDurable{id}); });
}

void StationShell::carry_out(const station::AppendStir& effect) {
  write(effect, [this, id = effect.stir.id] { observe(station::StirDurable{id}); });
}

void StationShell::carry_out(const station::StoreBookEntry& effect) {
  write(effect,
        [this, number = effect.entry.number] { observe(station::BookEntryDurable{number}); });
}

guard::Guard::Reply StationShell::report(rules::OutletRole role,
                                         station::OutletReport::Command command) {
  ++outstanding_;
  return [this, role, command](const guard::Outcome& outcome) {
    --outstanding_;
    observe(station::OutletReport{role, command, result_of(outcome.result), outcome.why,
                                  outcome.off_since, outcome.handed_over, outcome.disk_too_slow});
  };
}

void StationShell::carry_out(const station::Run& effect) {
  auto reply = report(effect.role, station::OutletReport::Command::run);
  if (effect.role == rules::OutletRole::pump) {
    guard_.pulse(effect.id, effect.duration, effect.send_before, std::move(reply));
  } else {
    guard_.stir(effect.duration, effect.send_before, std::move(reply));
  }
}

void StationShell::carry_out(const station::SwitchOff& effect) {
  auto reply = report(effect.role, station::OutletReport::Command::off);
  if (effect.role == rules::OutletRole::pump) {
    guard_.pump_off(std::move(reply));
  } else {
    guard_.stirrer_off(std::move(reply));
  }
}

void StationShell::carry_out(const station::ReadBack& effect) {
  auto reply = report(effect.role, station::OutletReport::Command::read_back);
  if (effect.role == rules::OutletRole::pump) {
    guard_.read_pump(std::move(reply));
  } else {
    guard_.read_stirrer(std::move(reply));
  }
}

void StationShell::carry_out(const station::Raise& effect) {
  parts_.raise(settings_.name, effect.event);
}

void StationShell::all_off(std::function<void(bool)> reply) {
  // The core ends a running pulse itself, so that its row can still be closed.
  observe(station::Stopping{});
  struct Tally {
    int waiting;
    bool all_off;
  };
  auto tally = std::make_shared<Tally>(Tally{parts_.stirrer == nullptr ? 1 : 2, true});
  const auto count = [tally, reply = std::move(reply)](const guard::Outcome& outcome) {
    tally->all_off = tally->all_off && outcome.result == guard::Outcome::Result::off;
    if (--tally->waiting == 0) {
      reply(tally->all_off);
    }
  };
  const auto both = [&](rules::OutletRole role) {
    return [count, to_core = report(role, station::OutletReport::Command::off)](
               const guard::Outcome& outcome) {
      to_core(outcome);
      count(outcome);
    };
  };
  guard_.pump_off(both(rules::OutletRole::pump));
  if (parts_.stirrer != nullptr) {
    guard_.stirrer_off(both(rules::OutletRole::stirrer));
  }
}

}  // namespace limegate::shell
