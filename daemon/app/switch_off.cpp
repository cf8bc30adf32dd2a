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
#include "modbus/patience.h"

namespace limegate::app {
namespace {

constexpr auto kTryFor = std::chrono::seconds{10};
constexpr auto kLookEvery = std::chrono::milliseconds{50};
// A port that refuses does so at once: without a pause one core would do nothing else.
constexpr auto kPauseFirst = std::chrono::milliseconds{100};
constexpr auto kPauseMax = std::chrono::seconds{1};

/// One outlet until it is confirmed to be off or time is up.
struct Try {
  std::unique_ptr<ports::Outlet> outlet;
  OffResult result;
  modbus::Patience patience{kPauseFirst, kPauseMax};
  bool outstanding = false;

  void switch_off() {
    if (outstanding || result.confirmed || !patience.may_try(std::chrono::steady_clock::now())) {
      return;
    }
    outstanding = true;
    outlet->off([this](const ports::OutletAnswer& answer) {
      outstanding = false;
      result.confirmed = answer && *answer == ports::OutletState::off;
      if (!result.confirmed) {
        patience.failed(std::chrono::steady_clock::now());
      }
    });
  }
};

}  // namespace

std::vector<OffResult> switch_all_off(const config::Config& config) {
  boost::asio::io_context loop{1};
  const SystemClock clock;
  const auto work = boost::asio::make_work_guard(loop);
  WiredBuses wired = make_buses(config, clock, [&loop](std::function<void()> what) {
    boost::asio::post(loop, std::move(what));
  });
  std::vector<Try> tries;
  for (const config::Station& station : config.stations) {
    if (!station.wiring) {
      continue;
    }
    const auto add = [&](const config::OutletWiring& wiring, const char* what) {
      tries.push_back({wired.buses[wiring.bus].bus->outlet(wiring.outlet),
                       {station.settings.name, what, false}});
    };
    add(station.wiring->pump, "pump");
    if (station.wiring->stirrer_outlet) {
      add(*station.wiring->stirrer_outlet, "stirrer");
    }
  }
  const auto deadline = std::chrono::steady_clock::now() + kTryFor;
  for (bool waiting = true; waiting && std::chrono::steady_clock::now() < deadline;) {
    waiting = false;
    for (Try& one : tries) {
      one.switch_off();
      waiting = waiting || !one.result.confirmed;
    }
    if (waiting) {
      loop.run_one_for(kLookEvery);
      loop.poll();
    }
  }
  std::vector<OffResult> results;
  results.reserve(tries.size());
  for (const Try& one : tries) {
    results.push_back(one.result);
  }
  return results;
}

}  // namespace limegate::app
