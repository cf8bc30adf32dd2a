#include "app/switch_off.h"

#include <chrono>
#include <functional>
#include <memory>

#include <boost/asio/executor_work_guard.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/steady_timer.hpp>

#include "app/bus_factory.h"
#include "app/clocks.h"
#include "config/outlets.h"
#include "modbus/patience.h"

namespace limegate::app {
namespace {

constexpr auto kLookEvery = std::chrono::milliseconds{50};
// A port that refuses does so at once: without a pause one core would do nothing else.
constexpr auto kPauseFirst = std::chrono::milliseconds{100};
constexpr auto kPauseMax = std::chrono::seconds{1};

using Off = OffResult::Off;

/// One outlet until it is confirmed to be off or time is up.
struct Try {
  std::unique_ptr<ports::Outlet> outlet;
  OffResult result;
  modbus::Patience patience{kPauseFirst, kPauseMax};
  bool outstanding = false;

  [[nodiscard]] bool confirmed() const { return result.off != Off::not_confirmed; }

  void switch_off() {
    if (outstanding || confirmed() || !patience.may_try(std::chrono::steady_clock::now())) {
      return;
    }
    outstanding = true;
    outlet->off([this](const ports::OutletAnswer& answer) {
      outstanding = false;
      if (answer && *answer == ports::OutletState::off) {
        result.off = Off::confirmed;
      } else {
        patience.failed(std::chrono::steady_clock::now());
      }
    });
  }
  /// What was seen from here goes before what the daemon says.
  void believe(const DaemonSays& daemon) {
    if (!confirmed() && patience.failing() &&
        daemon.confirmed.contains({result.station, result.outlet})) {
      result.off = Off::confirmed_by_daemon;
    }
  }
};

std::vector<Try> tries_of(const config::Config& config, const WiredBuses& wired) {
  std::vector<Try> tries;
  for (const config::Outlet& outlet : config::outlets_of(config)) {
    tries.push_back({wired.buses[outlet.wiring->bus].bus->outlet(outlet.wiring->outlet),
                     {outlet.station->settings.name, outlet.what, Off::not_confirmed}});
  }
  return tries;
}

/// What the switching works with.
struct Lines {
  explicit Lines(const config::Config& config)
      : wired(make_buses(
            config, clock,
            [this](std::function<void()> what) { boost::asio::post(loop, std::move(what)); })),
        tries(tries_of(config, wired)) {}

  boost::asio::io_context loop{1};
  SystemClock clock;
  boost::asio::executor_work_guard<boost::asio::io_context::executor_type> work{
      loop.get_executor()};
  WiredBuses wired;
  std::vector<Try> tries;
};

}  // namespace

OffResults switch_all_off(const config::Config& config, const std::optional<std::string>& control,
                          std::chrono::seconds within) {
  auto lines = std::make_shared<Lines>(config);
  OffResults done;
  std::optional<DaemonAsked> asked;
  if (control) {
    asked.emplace(*control, [&](const DaemonSays& says) {
      boost::asio::post(lines->loop, [&done, says] { done.daemon = says; });
    });
  }
  const auto deadline = std::chrono::steady_clock::now() + within;
  bool waiting = true;
  while (waiting && std::chrono::steady_clock::now() < deadline) {
    waiting = false;
    for (Try& one : lines->tries) {
      one.switch_off();
      one.believe(done.daemon);
      waiting = waiting || !one.confirmed();
    }
    if (waiting) {
      lines->loop.run_one_for(kLookEvery);
      lines->loop.poll();
    }
  }
  asked.reset();
  lines->loop.poll();
  for (const Try& one : lines->tries) {
    done.outlets.push_back(one.result);
  }
  if (waiting) {
    done.busy = std::move(lines);
  }
  return done;
}

}  // namespace limegate::app
