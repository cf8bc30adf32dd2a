#include "app/alerts_command.h"

#include <algorithm>
#include <array>
#include <chrono>
#include <cstdio>
#include <memory>
#include <optional>
#include <string>
#include <thread>
#include <vector>

#include <nlohmann/json.hpp>

#include "app/check_command.h"
#include "app/control_commands.h"
#include "app/exit_code.h"
#include "app/given_config.h"
#include "app/state_dir.h"
#include "calculator/measure.h"
#include "journal/delivery_queue.h"
#include "journal/readings.h"
#include "units/iso8601.h"
#include "web/control_client.h"

namespace limegate::app {
namespace {

using calculator::Unit;
using nlohmann::json;
using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

constexpr std::array kTimes{Unit{"d", 24.0}, Unit{"h"}, Unit{"min", 1.0 / 60.0}};
constexpr double kHistoryMaxH = 150 * 8766.0;
/// A test message is on its way for so long at most before this gives up waiting.
constexpr auto kTestWithin = 60s;

struct Given {
  std::string file, since, station;
  bool json = false;
};

void print(const std::string& text) { std::fputs(text.c_str(), stdout); }
void complain(const std::string& text) { std::fputs(text.c_str(), stderr); }

std::optional<config::Config> config_of(const Given& given) {
  auto config = load_given(given.file);
  if (!config) {
    complain(explain(config.error(), given.file, Format::people));
    return std::nullopt;
  }
  if (const auto wrong = objection_to_station(config->config, given.station); !wrong.empty()) {
    complain(wrong);
    return std::nullopt;
  }
  return std::move(config->config);
}

std::optional<json> ask(const config::Config& config, const char* method, const json& params) {
  auto client = web::ControlClient::connect(control_path(config.state_dir));
  const auto answer =
      client ? client->ask(method, params) : tl::unexpected(std::move(client.error()));
  if (!answer) {
    complain(answer.error().sentence + ".\n");
    return std::nullopt;
  }
  return *answer;
}

void print_list(const std::string& place, const json& alerts) {
  for (const json& alert : alerts) {
    print((place.empty() ? "the daemon" : place) + ": " + alert.value("id", "") + ", " +
          alert.value("urgency", "") + ", " + alert.value("state", "") +
          (alert.value("latched", false) ? ", latched" : "") + ", since " +
          alert.value("since", "") + "\n  " + alert.value("sentence", "") + "\n  " +
          alert.value("consequence", "") + "\n  " + alert.value("action", "") + "\n");
    if (alert.contains("shelved")) {
      const json& shelf = alert["shelved"];
      print("  Shelved until " + shelf.value("until", "") + " by " + shelf.value("by", "") + ": " +
            shelf.value("because", "") + "\n");
    }
  }
}

int standing(const Given& given) {
  const auto config = config_of(given);
  if (!config) {
    return kBadInput;
  }
  const auto answer = ask(*config, "status", {{"station", given.station}});
  if (!answer) {
    return kNotConfirmed;
  }
  const json overview = answer->value("overview", json::object());
  // What the daemon itself has to tell concerns each of them.
  const json own = overview.value("alerts", json::array());
  if (given.json) {
    json all{{"daemon", own}};
    for (const json& station : overview.value("stations", json::array())) {
      all["stations"][station.value("station", "")] = station.value("alerts", json::array());
    }
    print(all.dump(2) + "\n");
    return kFine;
  }
  std::size_t count = own.size();
  print_list("", own);
  for (const json& station : overview.value("stations", json::array())) {
    const json alerts = station.value("alerts", json::array());
    count += alerts.size();
    print_list(station.value("station", ""), alerts);
  }
  print(count == 0 ? "No alert stands.\n" : "");
  return kFine;
}

int history(const Given& given) {
  const auto config = config_of(given);
  const auto hours = calculator::parse_in("--since", given.since, kTimes);
  if (!config || !hours) {
    complain(hours ? "" : hours.error() + "\n");
    return kBadInput;
  }
  if (!(*hours >= 0.0) || *hours > kHistoryMaxH) {
    complain("--since goes back from now, by 0 to 150 years: --since 7d\n");
    return kBadInput;
  }
  const WallTime now{std::chrono::system_clock::now().time_since_epoch()};
  const auto told = journal::Readings::alert_history(
      readings_path(config->state_dir),
      now - std::chrono::duration_cast<WallTime::duration>(
                std::chrono::duration<double, std::ratio<3600>>(*hours)));
  if (!told) {
    complain("The record can't be read: " + told.error().text() + ".\n");
    return kNotConfirmed;
  }
  json all = json::array();
  for (const auto& one : *told) {
    if (!given.station.empty() && !one.station.empty() && one.station != given.station) {
      continue;
    }
    const std::string at = iso8601(one.at);
    all.push_back(
        {{"at", at}, {"station", one.station}, {"code", one.code}, {"sentence", one.sentence}});
    if (!given.json) {
      print(at + " " + (one.station.empty() ? "the daemon" : one.station) + ": " + one.sentence +
            "\n");
    }
  }
  print(given.json ? all.dump(2) + "\n" : all.empty() ? "No alert in that time.\n" : "");
  return kFine;
}

int test(const Given& given) {
  const auto config = config_of(given);
  if (!config) {
    return kBadInput;
  }
  const auto answer = ask(*config, "test-alert", json::object());
  if (!answer) {
    return kNotConfirmed;
  }
  const std::string id = answer->value("id", "");
  print("Message " + id + " is given out" +
        (config->mqtt ? "; it goes to MQTT too, as alerts/message.\n" : ".\n"));
  if (!config->deliver) {
    complain("The file names no [deliver], so no mail, webhook or program gets it.\n");
    return config->mqtt ? kFine : kNotConfirmed;
  }
  const auto deadline = std::chrono::steady_clock::now() + kTestWithin;
  std::vector<std::string> lines;
  bool waits = true;
  while (waits && std::chrono::steady_clock::now() < deadline) {
    std::this_thread::sleep_for(500ms);
    lines.clear();
    // Programs have a unit and a queue of their own.
    for (const char* queue : {"/queue.db", "/queue-programs.db"}) {
      for (std::string& line :
           journal::DeliveryQueue::outcome_of(config->deliver->state_dir + queue, id)) {
        lines.push_back(std::move(line));
      }
    }
    waits = lines.size() < config->deliver->destinations.size() ||
            std::any_of(lines.begin(), lines.end(), [](const std::string& line) {
              return line.find(": waits") != std::string::npos;
            });
  }
  for (const std::string& line : lines) {
    print(line + "\n");
  }
  if (waits) {
    complain(lines.empty() ? "Nobody fetched it within a minute: does limegate-deliver run?\n"
                           : "Not every way has worked within a minute; it is tried on.\n");
  }
  const bool all = !waits && std::all_of(lines.begin(), lines.end(), [](const std::string& line) {
    return line.find(": delivered") != std::string::npos;
  });
  return all ? kFine : kNotConfirmed;
}

}  // namespace

void add_alerts_command(CLI::App& app, int& code) {
  const auto given = std::make_shared<Given>();
  CLI::App* alerts =
      app.add_subcommand("alerts", "What needs a person now, and what did; and a test message");
  alerts->add_option("CONFIG", given->file, "The file that the daemon runs with");
  alerts->add_option("--since", given->since, "What was told in the last 12h, 7d, instead");
  alerts->add_option("--station", given->station,
                     "Of this one and the daemon, where there are several");
  alerts->add_flag("--json", given->json, "For scripts");
  CLI::App* test_it =
      alerts->add_subcommand("test", "Send one message by every way, and say what came of each");
  test_it->add_option("CONFIG", given->file, "The file that the daemon runs with");
  alerts->callback([=, &code] {
    if (test_it->parsed()) {
      code = test(*given);
    } else {
      code = given->since.empty() ? standing(*given) : history(*given);
    }
  });
}

}  // namespace limegate::app
