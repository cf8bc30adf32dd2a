#include "app/off_command.h"

#include <cstdio>
#include <cstdlib>
#include <optional>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "app/control_commands.h"
#include "app/exit_code.h"
#include "app/log.h"
#include "app/off_config.h"
#include "app/paces.h"
#include "app/switch_off.h"
#include "app/switched_off.h"
#include "rules/hold.h"

namespace limegate::app {
namespace {

void print(const std::string& text) { std::fputs(text.c_str(), stdout); }
void complain(const std::string& text) { std::fputs(as_errors(text).c_str(), stderr); }

/// systemd.exec(5): set for what runs at a service's end, and there alone. Whoever listens then is
/// no daemon that a person wants off: the service's own has ended, and is to dose again.
bool at_the_services_end() {
  return std::getenv("SERVICE_RESULT") != nullptr;  // NOLINT(concurrency-mt-unsafe): at start
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

std::string for_people(const OffResults& done) {
  std::string lines;
  for (const OffResult& result : done.outlets) {
    lines += fmt::format("{:<24} {:<8} {}\n", result.station, result.outlet, words_of(result.off));
  }
  if (lines.empty()) {
    lines = "Every station is simulated: nothing to switch.\n";
  }
  if (done.daemon.promise == DaemonSays::Promise::stays_off) {
    lines += fmt::format("The running limegate keeps everything off until: limegate release {}\n",
                         rules::code_of(rules::SwitchedOff{}));
  }
  return lines;
}

std::string for_scripts(const OffResults& done) {
  using Promise = DaemonSays::Promise;
  const Promise promise = done.daemon.promise;
  const bool runs = promise == Promise::stays_off || promise == Promise::none;
  nlohmann::json list = nlohmann::json::array();
  for (const OffResult& result : done.outlets) {
    list.push_back({{"station", result.station},
                    {"outlet", result.outlet},
                    {"confirmed_off", result.off != OffResult::Off::not_confirmed},
                    {"by_daemon", result.off == OffResult::Off::confirmed_by_daemon},
                    {"stays_off", runs ? nlohmann::json(promise == Promise::stays_off)
                                       : nlohmann::json(nullptr)}});
  }
  return list.dump(2) + "\n";
}

}  // namespace

int off(const std::string& file, const std::string& state_dir, Format format) {
  const auto found = config_for_off(file, state_dir);
  if (!found) {
    complain(found.error());
    return kBadInput;
  }
  if (!found->said.empty()) {
    complain(found->said);
  }
  const std::string& state = found->config.state_dir;
  const OffResults done = switch_all_off(
      found->config, at_the_services_end() ? std::nullopt : std::optional{control_path(state)});
  bool all = true;
  for (const OffResult& result : done.outlets) {
    const bool confirmed = result.off != OffResult::Off::not_confirmed;
    all = all && confirmed;
    if (confirmed && result.outlet == "pump") {
      const RealPace pace;
      note_switched_off(state, result.station, pace.boot_id(), pace.clock().now().mono);
    }
  }
  print(format == Format::json ? for_scripts(done) : for_people(done));
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

}  // namespace limegate::app
