#include "app/daemon_asked.h"

#include <chrono>

#include <nlohmann/json.hpp>

#include "station/command.h"
#include "web/control_client.h"

namespace limegate::app {
namespace {

using nlohmann::json;
using Clock = std::chrono::steady_clock;
using web::ControlClient;

constexpr auto kAnswerWithin = std::chrono::seconds{1};
constexpr auto kLookEvery = std::chrono::milliseconds{100};

DaemonSays no_promise(const ControlClient::Failure& failure) {
  using Promise = DaemonSays::Promise;
  const bool nobody = failure.fault == ControlClient::Fault::nobody_there;
  return {nobody ? Promise::nobody_there : Promise::none, failure.sentence, {}};
}

void note_confirmed(const json& status, DaemonSays& says) {
  // Anew each time: what reads on again is no longer confirmed.
  says.confirmed.clear();
  const json overview = status.value("overview", json::object());
  for (const json& station : overview.value("stations", json::array())) {
    for (const char* outlet : {"pump", "stirrer"}) {
      if (station.value(outlet + std::string{"_confirmed_off"}, false)) {
        says.confirmed.emplace(station.value("station", std::string{}), outlet);
      }
    }
  }
}

}  // namespace

DaemonAsked::DaemonAsked(std::string socket, Tell tell)
    : socket_(std::move(socket)), tell_(std::move(tell)), thread_([this] { ask(); }) {}

DaemonAsked::~DaemonAsked() {
  {
    const std::lock_guard lock{mutex_};
    over_ = true;
  }
  changed_.notify_all();
  thread_.join();
}

bool DaemonAsked::over() {
  std::unique_lock lock{mutex_};
  return changed_.wait_for(lock, kLookEvery, [this] { return over_; });
}

/// Whatever the daemon says, the switching beside it goes on.
void DaemonAsked::ask() {
  try {
    ask_and_look();
  } catch (const json::exception&) {
    tell_({DaemonSays::Promise::none, "its answer makes no sense", {}});
  }
}

void DaemonAsked::ask_and_look() {
  auto client = ControlClient::connect(socket_, Clock::now() + kAnswerWithin);
  if (!client) {
    return tell_(no_promise(client.error()));
  }
  const auto answer = client->ask(station::name_of(station::SwitchAllOff{}), json::object());
  if (!answer) {
    return tell_(no_promise(answer.error()));
  }
  DaemonSays says;
  const bool accepted = answer->value("accepted", false);
  says.promise = accepted ? DaemonSays::Promise::stays_off : DaemonSays::Promise::none;
  says.why = answer->value("sentence", std::string{});
  tell_(says);
  while (accepted && !over()) {
    client->answer_by(Clock::now() + kAnswerWithin);
    const auto status = client->ask("status", json::object());
    if (!status) {
      return;  // the promise stands; what it has not confirmed by now stays unconfirmed
    }
    note_confirmed(*status, says);
    tell_(says);
  }
}

}  // namespace limegate::app
