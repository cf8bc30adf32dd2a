#include "app/control_commands.h"

#include <array>
#include <cstdio>
#include <memory>
#include <string>
#include <utility>

#include <nlohmann/json.hpp>

#include "alerts/command.h"
#include "app/asking.h"
#include "app/check_command.h"
#include "app/exit_code.h"
#include "app/given_config.h"
#include "app/release_command.h"
#include "app/terminal.h"
#include "calculator/measure.h"
#include "station/command.h"
#include "station/records.h"
#include "web/control_client.h"

namespace limegate::app {
namespace {

using calculator::Unit;
using nlohmann::json;

constexpr std::array kTimes{Unit{"min"}, Unit{"h", 60.0}, Unit{"d", 1440.0}, Unit{"s", 1.0 / 60.0}};
constexpr std::array kVolumes{Unit{"mL"}, Unit{"L", 1000.0}};

/// What the options of one of these commands say.
struct Given : Meant {
  std::string value, time, why;
  bool watch = false;
};

/// Sends a number that was given with its unit.
template <std::size_t N>
int send_measure(const Given& given, const station::Command& command, const char* key,
                 const char* option, const std::array<Unit, N>& units) {
  const auto number = calculator::parse_in(option, given.value, units);
  if (!number) {
    complain(number.error() + "\n");
    return kBadInput;
  }
  return send(given, station::name_of(command), json{{key, *number}});
}

int pause(const Given& given) {
  const auto minutes = calculator::parse_in("--for", given.value, kTimes);
  if (minutes && *minutes > in_minutes(station::kPauseMax)) {
    complain("--for " + given.value +
             ": 24 h is the most that a pause may last; it can be asked for again then.\n");
    return kBadInput;
  }
  return send_measure(given, station::Pause{}, "minutes", "--for", kTimes);
}

int status(const Given& given) {
  const auto config = config_of(given);
  if (!config) {
    return config.error();
  }
  if (const auto wrong = objection_to_station(config->config, given.station); !wrong.empty()) {
    complain(wrong);
    return kBadInput;
  }
  auto client = web::ControlClient::connect(control_path(config->config.state_dir));
  if (!client) {
    return failed(client.error());
  }
  for (auto answer = client->ask("status", {{"watch", given.watch}, {"station", given.station}});;
       answer = client->next()) {
    if (!answer) {
      return failed(answer.error());
    }
    if (given.json) {
      print(answer->value("overview", json::object()).dump(given.watch ? -1 : 2) + "\n");
    } else {
      const auto terminal = terminal_size();
      const auto view = answer->value("view", std::string{});
      print(!terminal     ? view + (given.watch ? "\n" : "")
            : given.watch ? kClearScreen + fitted(view, *terminal)
                          : wrapped(view, terminal->columns));
    }
    if (!given.watch) {
      return kFine;
    }
  }
}

int release(const Given& given) {
  const auto config = config_of(given);
  if (!config) {
    return config.error();
  }
  const auto running = web::ControlClient::connect(control_path(config->config.state_dir));
  if (!running && running.error().fault == web::ControlClient::Fault::nobody_there) {
    if (knows_nothing(config->config)) {
      complain(prepare_first(given.file));
      return kBadInput;
    }
    return release_stopped(config->config, station_of(given, config->config), given.value);
  }
  return send(given, station::name_of(station::Release{}), json{{"hold", given.value}});
}

void add_shelve(CLI::App& app, const std::shared_ptr<Given>& given, int& code) {
  CLI::App* shelve_it = add_for_station(
      app, "shelve", "Keep an alert quiet for a time, with a reason; it releases nothing", *given);
  shelve_it->add_option("ALERT", given->value, "Its id as the status shows it")->required();
  shelve_it->add_option("--for", given->time, "How long: 2h, 90min; 7d at most")->required();
  shelve_it->add_option("--because", given->why, "Why, for whoever reads it later")->required();
  shelve_it->callback([=, &code] {
    const auto minutes = calculator::parse_in("--for", given->time, kTimes);
    if (!minutes) {
      complain(minutes.error() + "\n");
      code = kBadInput;
      return;
    }
    code = send(*given, alerts::name_of(alerts::Command{alerts::Shelve{}}),
                json{{"alert", given->value}, {"minutes", *minutes}, {"because", given->why}});
  });
}

/// What the station does at once, or learns anew.
void add_work_commands(CLI::App& app, const std::shared_ptr<Given>& given, int& code) {
  CLI::App* stir_it = add_for_station(
      app, "stir", "Stir once, now; then the limewater settles as after any stir", *given);
  stir_it->callback([=, &code] { code = send(*given, station::name_of(station::StirNow{})); });

  CLI::App* relearn_it = add_for_station(
      app, "relearn",
      "Forget the usual course of the pH and learn it anew in a week: after a move, or new lights",
      *given);
  relearn_it->callback([=, &code] { code = send(*given, station::name_of(station::Relearn{})); });

  CLI::App* run_it = add_for_station(
      app, "run-attended",
      "Run the pump for priming or calibration while you stand beside it. Every hold applies, and "
      "all of it counts. Limewater is caustic: gloves and eye protection",
      *given);
  run_it->add_option("--volume", given->value, "Such as 100mL, at the pump's highest rate")
      ->required();
  run_it->callback([=, &code] {
    code = send_measure(*given, station::RunAttended{}, "ml", "--volume", kVolumes);
  });

  CLI::App* confirm_it = add_for_station(
      app, "confirm-rate", "Say what the attended run that has just ended gave: the pump's rate",
      *given);
  confirm_it->add_option("--collected", given->value, "As the cylinder shows it, such as 58mL")
      ->required();
  confirm_it->callback([=, &code] {
    code = send_measure(*given, station::ConfirmRate{}, "ml", "--collected", kVolumes);
  });
}

}  // namespace

std::string control_path(const std::string& state_dir) { return state_dir + "/control"; }

void add_control_commands(CLI::App& app, int& code) {
  const auto given = std::make_shared<Given>();
  CLI::App* status_it =
      add_command(app, "status", "Show what a running daemon does, and why", *given);
  status_it->add_flag("--watch", given->watch, "Again each second, until Ctrl-C");
  status_it->callback([=, &code] { code = status(*given); });

  CLI::App* pause_it =
      add_for_station(app, "pause", "Hold dosing back for a while; it goes on by itself", *given);
  pause_it->add_option("--for", given->value, "How long: 30min, 2h (the default); 24 h at most")
      ->default_str("2h");
  pause_it->callback([=, &code] {
    given->value = given->value.empty() ? "2h" : given->value;
    code = pause(*given);
  });

  CLI::App* resume_it =
      add_for_station(app, "resume", "End a pause; every other hold stays", *given);
  resume_it->callback([=, &code] { code = send(*given, station::name_of(station::Resume{})); });

  CLI::App* seen_it = add_for_station(app, "acknowledge",
                                      "Say that an alert was seen; it releases nothing", *given);
  seen_it->add_option("ALERT", given->value, "Its id as the status shows it; all without one");
  seen_it->callback([=, &code] {
    code = send(*given, alerts::name_of(alerts::Command{alerts::Acknowledge{}}),
                given->value.empty() ? json::object() : json{{"alert", given->value}});
  });

  add_shelve(app, given, code);

  CLI::App* release_it = add_for_station(
      app, "release", "Release a latched hold after its cause was found and mended", *given);
  release_it->add_option("HOLD", given->value, "Its code as the status shows it: ph-second-ceiling")
      ->required();
  release_it->callback([=, &code] { code = release(*given); });

  CLI::App* volume_it = add_for_station(
      app, "volume", "Set the volume to give each day, from the next clear window on", *given);
  volume_it->add_option("--per-day", given->value, "Such as 1200mL or 1.2L; up to max_day_ml")
      ->required();
  volume_it->callback([=, &code] {
    code = send_measure(*given, station::SetDayVolume{}, "ml", "--per-day", kVolumes);
  });
  add_work_commands(app, given, code);
}

}  // namespace limegate::app
