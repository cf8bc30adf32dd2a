// Brings the daemon's messages to people. A process of its own: whatever hangs here hangs no
// dosing.

#include <algorithm>
#include <chrono>
#include <csignal>
#include <cstdio>
#include <exception>
#include <string>

#include <CLI/CLI.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/signal_set.hpp>
#include <boost/asio/steady_timer.hpp>
#include <curl/curl.h>
#include <nlohmann/json.hpp>
#include <unistd.h>

#include "alerts/last_end.h"
#include "app/check_command.h"
#include "app/clocks.h"
#include "app/control_commands.h"
#include "app/exit_code.h"
#include "app/given_config.h"
#include "app/log.h"
#include "app/off_config.h"
#include "delivery/courier.h"
#include "delivery/ways.h"
#include "web/control_client.h"

namespace limegate::delivery {
namespace {

using nlohmann::json;
using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

/// The daemon's loop never takes so long.
constexpr auto kAnswerWithin = 5s;
constexpr auto kTickEvery = 250ms;

std::optional<Courier::Parts::News> fetch(const std::string& socket, const std::string& after) {
  auto client =
      web::ControlClient::connect(socket, std::chrono::steady_clock::now() + kAnswerWithin);
  if (!client) {
    return std::nullopt;
  }
  const auto answer = client->ask("messages", {{"after", after}});
  if (!answer || !answer->is_object()) {
    return std::nullopt;
  }
  Courier::Parts::News news;
  for (const json& event : answer->value("events", json::array())) {
    news.events.push_back(event.dump(-1, ' ', false, json::error_handler_t::replace));
  }
  for (const json& number : answer->value("unseen", json::array())) {
    if (number.is_string()) {
      news.unseen.insert(number.get<std::string>());
    }
  }
  const json standing = answer->value("standing", json{});
  news.all_well = standing.is_number() && standing == 0;
  return news;
}

bool tell_daemon(const std::string& socket, const station::Event& event) {
  auto client =
      web::ControlClient::connect(socket, std::chrono::steady_clock::now() + kAnswerWithin);
  if (!client) {
    return false;
  }
  const auto answer = client->ask(
      "found",
      {{"code", event.code}, {"sentence", event.sentence}, {"about", event.begins + event.ends}});
  return answer && answer->is_object() && answer->value("taken", false);
}

class Service {
 public:
  Service(const std::string& state_dir, const alerts::Delivery& settings,
          journal::DeliveryQueue& queue)
      : socket_(app::control_path(state_dir)),
        state_dir_(state_dir),
        timer_(loop_),
        signals_(loop_, SIGINT, SIGTERM),
        courier_(settings, {loop_, clock_, queue, "/limegate-deliver",
                            [this](const std::string& after) { return fetch(socket_, after); },
                            [this] { return last_end(); }, attempt,
                            [](const std::string& line, bool good) {
                              good ? app::log_info(line) : app::log_warning(line);
                            },
                            [this](const station::Event& event) {
                              return delivery::tell_daemon(socket_, event);
                            }}) {}

  void run() {
    signals_.async_wait([this](const auto& error, int) {
      if (!error) {
        loop_.stop();
      }
    });
    tick();
    loop_.run();
  }

 private:
  [[nodiscard]] std::optional<Watch::End> last_end() const {
    const auto end = alerts::read_last_end(state_dir_);
    return end ? std::optional{Watch::End{end->stamp, end->result, end->status}} : std::nullopt;
  }
  void tick() {  // NOLINT(misc-no-recursion): by the loop, not the stack
    courier_.tick();
    timer_.expires_after(kTickEvery);
    timer_.async_wait([this](const auto& error) {
      if (!error) {
        tick();
      }
    });
  }

  std::string socket_, state_dir_;
  app::SystemClock clock_;
  boost::asio::io_context loop_{1};
  boost::asio::steady_timer timer_;
  boost::asio::signal_set signals_;
  Courier courier_;
};

/// The file, or the last valid copy that the daemon kept: that a file is refused is just what must
/// be told.
std::optional<config::Config> config_of(const std::string& file) {
  if (auto given = app::load_given(file)) {
    return std::move(given->config);
  }
  auto last = app::config_for_off(file, "");
  if (!last) {
    std::fputs(app::as_errors(last.error()).c_str(), stderr);
    return std::nullopt;
  }
  std::fputs(app::as_errors(last->said).c_str(), stderr);
  return std::move(last->config);
}

int deliver(const std::string& file, Ways ways) {
  const auto config = config_of(file);
  if (!config) {
    return app::kBadInput;
  }
  const alerts::Delivery settings = only(ways, config->deliver.value_or(alerts::Delivery{}));
  if (!has_work(settings)) {
    app::log_info("no destination of this kind is configured: nothing to do");
    return app::kFine;
  }
  auto queue = journal::DeliveryQueue::open(settings.state_dir + "/queue" +
                                            (ways == Ways::programs ? "-programs" : "") + ".db");
  if (!queue) {
    app::log_error("The queue can't be opened in " + settings.state_dir + ": " +
                   queue.error().text() +
                   ". Messages are kept in memory, so a restart may bring some again.");
    queue = journal::DeliveryQueue::open(":memory:");
  }
  if (!queue) {
    return app::kNotConfirmed;
  }
  app::log_info("delivers to " + std::to_string(settings.destinations.size()) + " destinations");
  Service{config->state_dir, settings, *queue}.run();
  // An attempt that hangs in a library must not keep the process: what was not delivered is tried
  // again by the next one.
  std::fflush(nullptr);
  return app::kFine;
}

int command_line(int argc, char** argv) {
  CLI::App app{"Brings limegate's messages to people: by mail, webhook or a program of your own"};
  std::string file = "/etc/limegate/limegate.toml";
  app.add_option("CONFIG", file, "The file that the daemon runs with");
  Ways ways = Ways::all;
  app.add_flag_callback(
      "--network", [&] { ways = Ways::network; }, "Mails and webhooks only");
  app.add_flag_callback(
      "--programs", [&] { ways = Ways::programs; },
      "Programs of your own only: a hardened unit breaks mailers");
  bool asks = false;
  app.add_flag("--configured", asks,
               "Whether any such destination is configured: ends with 0 or, if none is, with 1");
  CLI11_PARSE(app, argc, argv);
  if (asks) {
    const auto config = config_of(file);
    // What can't be read at all is told by the run itself.
    return !config || has_work(only(ways, config->deliver.value_or(alerts::Delivery{})))
               ? app::kFine
               : app::kNotConfirmed;
  }
  std::signal(SIGPIPE, SIG_IGN);
  app::start_log();
  curl_global_init(CURL_GLOBAL_DEFAULT);
  return deliver(file, ways);
}

}  // namespace
}  // namespace limegate::delivery

int main(int argc, char** argv) try {
  return limegate::delivery::command_line(argc, argv);
} catch (const std::exception& error) {
  const std::string line = std::string{"limegate-deliver: "} + error.what() + "\n";
  std::fputs(limegate::app::as_errors(line).c_str(), stderr);
  return limegate::app::kNotConfirmed;
}
