#include "app/release_command.h"

#include <algorithm>
#include <cstdio>
#include <vector>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "app/exit_code.h"
#include "app/given_config.h"
#include "app/paces.h"
#include "app/state_dir.h"
#include "guard/record.h"
#include "journal/ledger.h"
#include "shell/second_copy.h"
#include "station/release_note.h"

namespace limegate::app {
namespace {

void complain_of(const std::string& text) { std::fputs(text.c_str(), stderr); }

/// Writes the note into the guard's copy too, if there is one. False if that can't be written.
bool note_in_copy(const std::string& path, const std::string& note) {
  auto record = guard::read_record(path);
  if (!record || !record->kept) {
    return true;
  }
  std::erase(record->kept->latches, note);
  record->kept->latches.push_back(note);
  return guard::write_record(path, *record) == guard::RecordStore::Saved::durably;
}

std::vector<journal::Beside> beside_of(const config::Config& config) {
  std::vector<journal::Beside> beside;
  for (const config::Station& one : config.stations) {
    const std::string& name = one.settings.name;
    beside.push_back({name,
                      shell::second_copy_of(guard::read_record(guard_path(config.state_dir, name))),
                      journal::read_witness(witness_path(config.witness_dir, name))});
  }
  return beside;
}

/// The next start trusts a note only if the witness, where there is one, knows of it.
bool note_in_witness(const config::Config& config, const std::string& station,
                     const journal::Ledger& ledger) {
  const std::string path = witness_path(config.witness_dir, station);
  const auto witness = ledger.witness_of(station);
  return !journal::read_witness(path) || (witness && journal::write_witness(path, *witness));
}

}  // namespace

int release_stopped(const config::Config& config, const std::string& station,
                    const std::string& hold) {
  if (const auto meant = station_meant(config, station); !meant) {
    complain_of(meant.error() + "\n");
    return kBadInput;
  }
  const auto state = StateDir::take(config.state_dir);
  if (!state) {
    complain_of(state.error().what + "\n");
    return state.error().fault == StateDir::Fault::in_use ? kInUse : kNotConfirmed;
  }
  const RealPace pace;
  const journal::Boot boot{pace.boot_id(), pace.clock().now(), home_of(config.state_dir)};
  auto ledger = journal::Ledger::open(ledger_path(config.state_dir), beside_of(config), boot);
  if (!ledger) {
    complain_of(fmt::format("{}: {} ({})\n", config.state_dir, ledger.error().what(),
                            ledger.error().detail));
    return kNotConfirmed;
  }
  for (const std::string& note : ledger->notes()) {
    complain_of(note + "\n");
  }
  auto history = ledger->history(station, boot);
  if (history) {
    std::erase_if(history->latches, station::is_release_note);
  }
  if (!history ||
      std::find(history->latches.begin(), history->latches.end(), hold) == history->latches.end()) {
    complain_of(fmt::format("Station {} has no latched hold '{}'. Latched now: {}\n", station, hold,
                            history && !history->latches.empty()
                                ? fmt::format("{}", fmt::join(history->latches, ", "))
                                : "nothing"));
    return kBadInput;
  }
  const std::string note = station::release_note_of(hold);
  if (const auto done = ledger->latch(station, note, boot.now.wall); !done) {
    complain_of(fmt::format("{}: {}\n", config.state_dir, done.error().text()));
    return kNotConfirmed;
  }
  if (!note_in_copy(guard_path(config.state_dir, station), note)) {
    complain_of(fmt::format("{}: the guard's copy of it can't be written. Again, please.\n",
                            config.state_dir));
    return kNotConfirmed;
  }
  if (!note_in_witness(config, station, *ledger)) {
    complain_of(fmt::format("{} can't be written, so the next start would not trust the note.\n",
                            config.witness_dir));
    return kNotConfirmed;
  }
  std::fputs(
      fmt::format("Noted: {}. No daemon runs; the next one releases it once it has seen that "
                  "its cause is gone, and says so.\n",
                  hold)
          .c_str(),
      stdout);
  return kFine;
}

}  // namespace limegate::app
