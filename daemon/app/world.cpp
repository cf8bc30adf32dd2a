#include "app/world.h"

#include <algorithm>
#include <array>
#include <chrono>
#include <climits>
#include <utility>

#include <unistd.h>

#include "app/reading_row.h"

namespace limegate::app {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

/// Readings are written about once a minute, so that an SD card lives.
constexpr Duration kFlushEvery = 60s;
constexpr Duration kReopenEvery = 15s;
/// An SD card may take seconds over a write, not this long.
constexpr Duration kDiskHangs = 30s;
/// A URI reference that names this daemon on its machine.
std::string source_of(const config::Config& config) {
  std::array<char, HOST_NAME_MAX + 1> host{};
  (void)::gethostname(host.data(), host.size() - 1);
  return std::string{"//"} + host.data() + "/limegate" + config.state_dir;
}

std::vector<std::string> names_of(const config::Config& config) {
  std::vector<std::string> names;
  for (const config::Station& station : config.stations) {
    names.push_back(station.settings.name);
  }
  return names;
}

/// Nothing can be harmed by a simulated station that forgets.
bool any_wired(const config::Config& config) {
  return std::any_of(config.stations.begin(), config.stations.end(),
                     [](const config::Station& station) { return station.wiring.has_value(); });
}

}  // namespace

World::World(boost::asio::io_context& loop, const config::Config& config, const Pace& pace,
             const Tanks& tanks)
    : loop_(loop),
      pace_(pace),
      poll_every_(config.poll),
      record_every_(config.record_every),
      started_(pace.clock().now().wall),
      started_mono_(pace.clock().now().mono),
      journal_(loop, {config.state_dir, any_wired(config) ? config.witness_dir : ""},
               names_of(config),
               [this](JournalWorker::Witnessed witnessed) { note_witness(witnessed); }),
      alerts_({pace.clock(), journal_, source_of(config),
               [this](const alerts::Record& alert) { return cost_of(alert); },
               [this](const std::string& why) { ledger_failed(why); },
               [this](const std::string& event) {
                 if (on_message_) {
                   on_message_(event);
                 }
               }}),
      events_(pace.clock(), [this](const std::string& station, const station::Event& event) {
        alerts_.take(station, event);
      }) {
  build(config, tanks);
  open_ledger();
  for (const std::string& warning : config.warnings) {
    raise("", {pace_.clock().now().wall, station::Severity::warning, "config", warning});
  }
  next_flush_ = pace_.clock().now().mono + kFlushEvery;
}

journal::Boot World::boot() const { return {pace_.boot_id(), pace_.clock().now()}; }

void World::open_ledger() {
  for (const auto& [station, unseen] : journal_.take_unseen_now(pace_.clock().now().wall)) {
    alerts_.take(station, unseen);
  }
  const auto opened = journal_.open_now(boot());
  const Moment now = pace_.clock().now();
  for (const auto& shell : shells_) {
    shell->begin(std::nullopt);
  }
  if (!opened) {
    ledger_failed(opened.error().text());
    return;
  }
  alerts_.know(opened->alerts, opened->lifetime_before_boot);
  for (const std::string& note : opened->notes) {
    raise("", shell::ledger_note(now.wall, note));
  }
  note_witness(opened->witnessed);
  for (const auto& shell : shells_) {
    shell->begin(opened->histories.at(shell->core().name()));
  }
}

void World::ledger_failed(const std::string& why) {
  const Moment now = pace_.clock().now();
  if (!ledger_fault_) {
    ledger_fault_ = why;
    next_reopen_ = now.mono + kReopenEvery;
    raise("", shell::ledger_failed(now.wall, why));
  }
  // What fails because it is closed by now says nothing of the cause.
  for (const auto& shell : shells_) {
    shell->observe(station::LedgerFault{*ledger_fault_});
  }
}

void World::recover_ledger() {
  if (!ledger_fault_ || reopening_ || pace_.clock().now().mono < next_reopen_) {
    return;
  }
  reopening_ = true;
  journal_.reopen(boot(), [this](const journal::Stored<JournalWorker::Opened>& opened) {
    const Moment now = pace_.clock().now();
    reopening_ = false;
    next_reopen_ = now.mono + kReopenEvery;
    if (!opened) {
      ledger_fault_ = opened.error().text();
      return ledger_failed(*ledger_fault_);
    }
    ledger_fault_.reset();
    alerts_.know(opened->alerts, opened->lifetime_before_boot);
    for (const std::string& note : opened->notes) {
      raise("", shell::ledger_note(now.wall, note));
    }
    raise("", shell::ledger_sound(now.wall));
    note_witness(opened->witnessed);
    for (const auto& shell : shells_) {
      shell->recover(opened->histories.at(shell->core().name()));
    }
  });
}

void World::keep_ledger_small() {
  journal_.tidy(pace_.clock().now(), [this](const journal::Stored<std::vector<std::string>>& told) {
    if (!told) {
      ledger_failed(told.error().text());
      return;
    }
    for (const std::string& note : *told) {
      raise("", shell::ledger_note(pace_.clock().now().wall, note));
    }
  });
}

void World::tick() {
  const Instant now = pace_.clock().now().mono;
  events_.tick();
  alerts_.tick();
  note_clock();
  for (const auto& shell : shells_) {
    shell->step();
  }
  for (Line& line : lines_) {
    note_silence(line);
    if (now >= line.next_poll) {
      // Half a tick of slack: a timer that is a little late must not cost a whole poll.
      line.next_poll = now + poll_every_ - 500ms;
      poll(line, line.all);
    }
  }
  record();
  if (!ledger_fault_ && journal_.stalled(kDiskHangs)) {
    // What is not recorded is not dosed; when the disk answers again, the ledger is read anew.
    ledger_failed("the disk has not answered for " + rules::for_people(kDiskHangs));
  }
  recover_ledger();
  keep_ledger_small();
}

void World::record() {
  const Moment now = pace_.clock().now();
  if (now.mono >= next_record_) {
    next_record_ = now.mono + record_every_ - 500ms;
    for (const auto& shell : shells_) {
      rows_.push_back(reading_row(shell->core(), now));
      if (const auto seen = shell->core().seen()) {
        rows_.back().seen = {pace_.boot_id(), *seen};
      }
    }
  }
  if (now.mono < next_flush_ && !events_.urgent()) {
    return;
  }
  next_flush_ = now.mono + kFlushEvery;
  journal_.record(
      std::exchange(rows_, {}), events_.take_unwritten(), now,
      [this](const journal::Stored<void>& done) {
        const bool begun_anew = !done && done.error().fault == journal::StorageFault::damaged;
        if (begun_anew) {
          raise("", record_set_aside(pace_.clock().now().wall, done.error().detail));
        }
        note_record(done || begun_anew ? std::nullopt : std::optional{done.error().text()});
        if (!done) {
          // The same disk holds the ledger: see whether that can still be written.
          journal_.ledger([](journal::Ledger& ledger) { return ledger.prove_writable(); },
                          [this](const journal::Stored<void>& proved) {
                            if (!proved) {
                              ledger_failed(proved.error().text());
                            }
                          });
        }
      });
}

station::Answer World::obey(const std::string& station, const alerts::Asked& asked,
                            const Sender& sender) {
  using Verdict = station::Answer::Verdict;
  const auto* command = std::get_if<station::Command>(&asked);
  if (command != nullptr && station.empty() &&
      std::holds_alternative<station::SwitchAllOff>(*command)) {
    station::Answer answer{Verdict::refused, "There is no station here."};
    for (const auto& shell : shells_) {
      answer = shell->command(*command, sender.origin);
    }
    return answer;
  }
  std::string names;
  shell::StationShell* named = nullptr;
  for (const auto& shell : shells_) {
    named = shell->core().name() == station ? shell.get() : named;
    names += (names.empty() ? "" : ", ") + shell->core().name();
  }
  if (command != nullptr && station.empty()) {
    return {Verdict::refused,
            "This is a command to one station: name it. There is: " + names + "."};
  }
  if (!station.empty() && named == nullptr) {
    return {Verdict::refused,
            "There is no station '" + station + "' here; there is: " + names + "."};
  }
  return command != nullptr ? named->command(*command, sender.origin)
                            : alerts_.obey(station, std::get<alerts::Command>(asked),
                                           {sender.origin, sender.who, {}});
}

station::Answer World::command(const std::string& station, const alerts::Asked& command,
                               const Sender& sender) {
  station::Answer answer = obey(station, command, sender);
  const bool accepted = answer.verdict == station::Answer::Verdict::accepted;
  const bool known = std::any_of(shells_.begin(), shells_.end(), [&](const auto& shell) {
    return shell->core().name() == station;
  });
  const WallTime now = pace_.clock().now().wall;
  const std::string what = alerts::name_of(command);
  raise(known ? station : "",
        accepted ? station::Event{now, station::Severity::info, "command",
                                  "By " + sender.who + ": " + what + ". " + answer.sentence}
                 : station::event_of({what, sender.who, answer.sentence, now}));
  return answer;
}

void World::found_by_delivery(station::Event event) {
  event.at = pace_.clock().now().wall;
  raise("", event);
}

void World::stop(const std::function<void(bool)>& reply) {
  struct Tally {
    std::size_t waiting;
    bool all_off;
  };
  auto tally = std::make_shared<Tally>(Tally{shells_.size(), true});
  for (const auto& shell : shells_) {
    shell->all_off([tally, reply](bool off) {
      tally->all_off = tally->all_off && off;
      if (--tally->waiting == 0) {
        reply(tally->all_off);
      }
    });
  }
  events_.tell_counts();
  events_.write_soon();
  record();
}

}  // namespace limegate::app
