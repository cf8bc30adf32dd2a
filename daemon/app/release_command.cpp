#include "app/release_command.h"

#include <algorithm>
#include <cstdio>
#include <vector>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "app/exit_code.h"
#include "app/paces.h"
#include "app/state_dir.h"
#include "guard/record.h"
#include "journal/ledger.h"
#include "shell/second_copy.h"

namespace limegate::app {
namespace {

void complain_of(const std::string& text) { std::fputs(text.c_str(), stderr); }

/// Takes a latch out of the guard's record. False if that can't be written.
bool forget_copy(const std::string& path, const std::string& hold) {
  auto record = guard::read_record(path);
  if (!record || !record->kept || std::erase(record->kept->latches, hold) == 0) {
    return true;
  }
  return guard::write_record(path, *record) == guard::RecordStore::Saved::durably;
}

}  // namespace

int release_stopped(const config::Config& config, const std::string& station,
                    const std::string& hold) {
  const auto state = StateDir::take(config.state_dir);
  if (!state) {
    complain_of(state.error().what + "\n");
    return state.error().fault == StateDir::Fault::in_use ? kInUse : kNotConfirmed;
  }
  const RealPace pace;
  const journal::Boot boot{pace.boot_id(), pace.clock().now(), home_of(config.state_dir)};
  std::vector<journal::Beside> beside;
  for (const config::Station& one : config.stations) {
    const std::string& name = one.settings.name;
    beside.push_back({name,
                      shell::second_copy_of(guard::read_record(guard_path(config.state_dir, name))),
                      journal::read_witness(witness_path(config.witness_dir, name))});
  }
  auto ledger = journal::Ledger::open(ledger_path(config.state_dir), beside, boot);
  if (!ledger) {
    complain_of(fmt::format("{}: {} ({})\n", config.state_dir, ledger.error().what(),
                            ledger.error().detail));
    return kNotConfirmed;
  }
  for (const std::string& note : ledger->notes()) {
    complain_of(note + "\n");
  }
  const auto history = ledger->history(station, boot);
  if (!history ||
      std::find(history->latches.begin(), history->latches.end(), hold) == history->latches.end()) {
    complain_of(fmt::format("Station {} has no latched hold '{}'. Latched now: {}\n", station, hold,
                            history && !history->latches.empty()
                                ? fmt::format("{}", fmt::join(history->latches, ", "))
                                : "nothing"));
    return kBadInput;
  }
  if (const auto done = ledger->release(station, hold); !done) {
    complain_of(fmt::format("{}: {}\n", config.state_dir, done.error().what()));
    return kNotConfirmed;
  }
  if (!forget_copy(guard_path(config.state_dir, station), hold)) {
    complain_of(fmt::format("{}: the guard's copy of it can't be written, so it will be back.\n",
                            config.state_dir));
    return kNotConfirmed;
  }
  std::fputs(
      fmt::format("Released: {}. If its cause is still there, it holds again at the next start.\n",
                  hold)
          .c_str(),
      stdout);
  return kFine;
}

}  // namespace limegate::app
