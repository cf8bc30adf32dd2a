#include "app/release_command.h"

#include <algorithm>
#include <cstdio>
#include <vector>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "app/exit_code.h"
#include "app/paces.h"
#include "app/state_dir.h"
#include "journal/ledger.h"

namespace limegate::app {
namespace {

void complain_of(const std::string& text) { std::fputs(text.c_str(), stderr); }

}  // namespace

int release_stopped(const config::Config& config, const std::string& station,
                    const std::string& hold) {
  const auto state = StateDir::take(config.state_dir);
  if (!state) {
    complain_of(state.error().what + "\n");
    return state.error().fault == StateDir::Fault::in_use ? kInUse : kNotConfirmed;
  }
  const RealPace pace;
  const journal::Boot boot{pace.boot_id(), pace.clock().now()};
  std::vector<std::string> names;
  for (const config::Station& one : config.stations) {
    names.push_back(one.settings.name);
  }
  auto ledger = journal::Ledger::open(ledger_path(config.state_dir), names, boot);
  if (!ledger) {
    complain_of(fmt::format("{}: {} ({})\n", config.state_dir, ledger.error().what(),
                            ledger.error().detail));
    return kNotConfirmed;
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
  std::fputs(
      fmt::format("Released: {}. If its cause is still there, it holds again at the next start.\n",
                  hold)
          .c_str(),
      stdout);
  return kFine;
}

}  // namespace limegate::app
