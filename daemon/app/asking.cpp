#include "app/asking.h"

#include <cstdio>
#include <cstdlib>
#include <utility>

#include "app/check_command.h"
#include "app/control_commands.h"
#include "app/exit_code.h"

namespace limegate::app {

using nlohmann::json;

void print(const std::string& text) {
  std::fputs(text.c_str(), stdout);
  std::fflush(stdout);
}

void complain(const std::string& text) { std::fputs(text.c_str(), stderr); }

int failed(const web::ControlClient::Failure& failure) {
  switch (failure.fault) {
    case web::ControlClient::Fault::nobody_there:
      complain("No limegate runs with this state directory (" + failure.sentence +
               "). Start it first.\n");
      return kNotConfirmed;
    case web::ControlClient::Fault::forbidden:
      complain(failure.sentence + ". Use a user of the daemon's group.\n");
      return kNotConfirmed;
    case web::ControlClient::Fault::broken:
      complain("The running limegate: " + failure.sentence + ".\n");
      return kNotConfirmed;
  }
  std::abort();
}

tl::expected<GivenConfig, int> config_of(const Meant& meant) {
  auto config = load_given(meant.file);
  if (!config) {
    complain(explain(config.error(), meant.file, Format::people));
    return tl::unexpected(static_cast<int>(kBadInput));
  }
  return std::move(*config);
}

std::string station_of(const Meant& meant, const config::Config& config) {
  const auto station = station_meant(config, meant.station);
  return station ? (*station)->settings.name : meant.station;
}

bool told(const Meant& meant, const json& answer) {
  const bool accepted = answer.value("accepted", false);
  const std::string sentence = answer.value("sentence", std::string{});
  if (meant.json) {
    print(answer.dump(2) + "\n");
  } else if (accepted) {
    print(sentence + "\n");
  } else {
    complain("Refused. " + sentence + "\n");
  }
  return accepted;
}

int send(const Meant& meant, const char* method, json params) {
  const auto config = config_of(meant);
  if (!config) {
    return config.error();
  }
  const std::string station = station_of(meant, config->config);
  if (!station.empty()) {
    params["station"] = station;
  }
  auto client = web::ControlClient::connect(control_path(config->config.state_dir));
  if (!client) {
    return failed(client.error());
  }
  const auto answer = client->ask(method, params);
  if (!answer) {
    return failed(answer.error());
  }
  return told(meant, *answer) ? kFine : kRefused;
}

CLI::App* add_command(CLI::App& app, const char* name, const char* about, Meant& meant) {
  CLI::App* command = app.add_subcommand(name, about);
  command->add_option("CONFIG", meant.file, "The file that the daemon runs with");
  command->add_option("--station", meant.station, "Which one, where there are several");
  command->add_flag("--json", meant.json, "For scripts");
  return command;
}

CLI::App* add_for_station(CLI::App& app, const char* name, const char* about, Meant& meant) {
  CLI::App* command = add_command(app, name, about, meant);
  command->get_option("CONFIG")->required();
  return command;
}

}  // namespace limegate::app
