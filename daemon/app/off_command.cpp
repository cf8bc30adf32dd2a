#include "app/off_command.h"

#include <algorithm>
#include <cerrno>
#include <chrono>
#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <map>
#include <memory>
#include <optional>
#include <thread>
#include <utility>

#include <fmt/format.h>
#include <nlohmann/json.hpp>
#include <unistd.h>

#include "alerts/last_end.h"
#include "app/control_commands.h"
#include "app/exit_code.h"
#include "app/log.h"
#include "app/off_config.h"
#include "app/outlet_lock.h"
#include "app/paces.h"
#include "app/state_dir.h"
#include "app/switch_off.h"
#include "app/switched_off.h"
#include "guard/record.h"
#include "rules/hold.h"

namespace limegate::app {
namespace {

/// Together well within the unit's TimeoutStopSec.
constexpr std::chrono::seconds kTryFor{10};
constexpr std::chrono::seconds kTryLastFor{5};
constexpr std::chrono::seconds kWrittenWithin{1};
constexpr std::chrono::milliseconds kLookEvery{20};

enum class Asks { nobody, the_daemon };

void print(const std::string& text) { std::fputs(text.c_str(), stdout); }
void complain(const std::string& text) { std::fputs(as_errors(text).c_str(), stderr); }

/// systemd.exec(5): set for what runs at a service's end, and there alone. Whoever listens then is
/// no daemon that a person wants off: the service's own has ended, and is to dose again.
bool at_the_services_end() {
  return std::getenv("SERVICE_RESULT") != nullptr;  // NOLINT(concurrency-mt-unsafe): at start
}

/// For who delivers messages: the daemon can't tell of its own death.
void note_end(const std::string& state_dir) {
  // NOLINTBEGIN(concurrency-mt-unsafe): at start
  const char* const result = std::getenv("SERVICE_RESULT");
  const char* const status = std::getenv("EXIT_STATUS");
  // NOLINTEND(concurrency-mt-unsafe)
  const RealPace pace;
  // A disk that can't be written is told by other means.
  (void)alerts::write_last_end(state_dir, result != nullptr ? result : "",
                               status != nullptr ? status : "", pace.clock().now().wall);
}

const char* words_of(OffResult::Off off) {
  switch (off) {
    case OffResult::Off::confirmed:
      return "off, confirmed";
    case OffResult::Off::confirmed_by_daemon:
      return "off, confirmed (by the daemon)";
    case OffResult::Off::not_confirmed:
      return "NOT CONFIRMED: look at it now and cut its power";
  }
  std::abort();
}

/// Whether a daemon runs, as far as is known.
bool runs(const DaemonSays& daemon) {
  return daemon.promise == DaemonSays::Promise::stays_off ||
         daemon.promise == DaemonSays::Promise::none;
}

std::string release_of(const OffConfig& found) {
  std::string command =
      "limegate release " + found.path + " " + rules::code_of(rules::SwitchedOff{});
  if (found.config.stations.size() == 1) {
    return command;
  }
  std::string all;
  for (const config::Station& station : found.config.stations) {
    all += "\n    " + command + " --station " + station.settings.name;
  }
  return all;
}

std::string for_people(const OffResults& done, const OffConfig& found) {
  std::string lines;
  for (const OffResult& result : done.outlets) {
    lines += fmt::format("{:<24} {:<8} {}\n", result.station, result.outlet, words_of(result.off));
  }
  if (lines.empty()) {
    lines = "Every station is simulated: nothing to switch.\n";
  }
  if (done.daemon.promise == DaemonSays::Promise::stays_off) {
    lines += "The running limegate keeps everything off until: " + release_of(found) + "\n";
  } else if (done.daemon.promise == DaemonSays::Promise::nobody_there) {
    lines += "No limegate runs here: the next start doses again.\n";
  }
  return lines;
}

std::string for_scripts(const OffResults& done) {
  using Promise = DaemonSays::Promise;
  const Promise promise = done.daemon.promise;
  nlohmann::json list = nlohmann::json::array();
  for (const OffResult& result : done.outlets) {
    list.push_back({{"station", result.station},
                    {"outlet", result.outlet},
                    {"confirmed_off", result.off != OffResult::Off::not_confirmed},
                    {"by_daemon", result.off == OffResult::Off::confirmed_by_daemon},
                    {"stays_off", runs(done.daemon) ? nlohmann::json(promise == Promise::stays_off)
                                                    : nlohmann::json(nullptr)}});
  }
  return list.dump(2) + "\n";
}

/// Whether the promise is written down, by the guard's record of each station. Nobody but the
/// daemon's user may read that: then it is believed.
bool is_written(const config::Config& config, const std::string& state_dir) {
  const std::string code = rules::code_of(rules::SwitchedOff{});
  return std::all_of(config.stations.begin(), config.stations.end(), [&](const auto& station) {
    const std::string path = guard_path(state_dir, station.settings.name);
    const auto record = guard::read_record(path);
    return record ? record->kept &&
                        std::find(record->kept->latches.begin(), record->kept->latches.end(),
                                  code) != record->kept->latches.end()
                  : ::access(path.c_str(), R_OK) != 0 && errno == EACCES;
  });
}

/// What the daemon's word is worth.
DaemonSays weighed(DaemonSays says, const config::Config& config, const std::string& state_dir) {
  using Promise = DaemonSays::Promise;
  if (says.promise == Promise::nobody_there && OutletLock::held_by_another(config)) {
    says.promise = Promise::none;
    says.why = "one runs, but not with " + control_path(state_dir);
  }
  const auto deadline = std::chrono::steady_clock::now() + kWrittenWithin;
  while (says.promise == Promise::stays_off && !is_written(config, state_dir)) {
    if (std::chrono::steady_clock::now() >= deadline) {
      says.promise = Promise::none;
      says.why = "it stays off while it runs, but could not write that down, so a restart doses";
    }
    std::this_thread::sleep_for(kLookEvery);
  }
  return says;
}

OffResults switch_everything(const OffConfig& found, Asks asks) {
  const std::string& state = found.config.state_dir;
  const auto control = asks == Asks::nobody ? std::nullopt : std::optional{control_path(state)};
  // First what may be on, and the daemon that may have it on: as that was started.
  const config::Config& running = found.ran_last ? *found.ran_last : found.config;
  OffResults done = switch_all_off(running, control, found.ran_last ? kTryLastFor : kTryFor);
  done.daemon = weighed(done.daemon, running, state);
  if (found.ran_last) {
    OffResults named = switch_all_off(found.config, std::nullopt, kTryFor);
    done.outlets.insert(done.outlets.end(), named.outlets.begin(), named.outlets.end());
    if (named.busy) {
      done.busy = std::make_shared<std::pair<std::shared_ptr<void>, std::shared_ptr<void>>>(
          done.busy, named.busy);
    }
  }
  return done;
}

/// A pulse that died with the daemon is counted until then: where a station has two pumps by two
/// files, when both are off.
void note_pumps(const OffConfig& found, const OffResults& done) {
  std::map<std::string, bool> pumps;
  for (const OffResult& result : done.outlets) {
    if (result.outlet == "pump") {
      const bool off = result.off != OffResult::Off::not_confirmed;
      const auto [pump, fresh] = pumps.emplace(result.station, off);
      pump->second = pump->second && off;
    }
  }
  const RealPace pace;
  for (const auto& [station, off] : pumps) {
    if (off) {
      note_switched_off(found.config.state_dir, station, pace.boot_id(), pace.clock().now().mono);
    }
  }
}

int report(const OffConfig& found, const OffResults& done, Format format) {
  const bool all = std::all_of(done.outlets.begin(), done.outlets.end(), [](const auto& one) {
    return one.off != OffResult::Off::not_confirmed;
  });
  print(format == Format::json ? for_scripts(done) : for_people(done, found));
  if (!found.said.empty()) {
    complain(found.said);
  }
  if (found.ran_last) {
    complain(
        "The file names other outlets than those that limegate ran with last; both were "
        "switched.\n");
  }
  if (!all && format == Format::people) {
    complain("Not every outlet is confirmed to be off. Look at the pump now.\n");
  }
  if (done.daemon.promise == DaemonSays::Promise::none) {
    complain("The running limegate did not promise to stay off, and may dose again: " +
             done.daemon.why + ". Stop it (systemctl stop limegate), or try again.\n");
    return kNotConfirmed;
  }
  return all ? kFine : kNotConfirmed;
}

int switch_and_report(const std::string& file, const std::string& state_dir, Format format,
                      Asks asks) {
  // Who reads what is said may be gone: that must keep nothing on.
  std::signal(SIGPIPE, SIG_IGN);
  const auto found = config_for_off(file, state_dir);
  if (!found) {
    complain(found.error());
    return kBadInput;
  }
  const OffResults done = switch_everything(*found, asks);
  if (at_the_services_end()) {
    note_end(found->config.state_dir);
  }
  note_pumps(*found, done);
  const int code = report(*found, done, format);
  if (done.busy) {
    std::fflush(nullptr);
    ::_exit(code);
  }
  return code;
}

}  // namespace

int off(const std::string& file, const std::string& state_dir, Format format) {
  return switch_and_report(file, state_dir, format,
                           at_the_services_end() ? Asks::nobody : Asks::the_daemon);
}

int off_after_hang(const std::string& file, const std::string& state_dir) {
  complain(
      "limegate has ended over a bus that hung: nothing is dosed until it is started again.\n");
  (void)switch_and_report(file, state_dir, Format::people, Asks::nobody);
  return kNotConfirmed;
}

}  // namespace limegate::app
