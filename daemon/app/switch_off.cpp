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

namespace limegate::app {
namespace {

constexpr auto kTryFor = std::chrono::seconds{10};
constexpr auto kTryEvery = std::chrono::milliseconds{300};

/// One outlet until it is confirmed to be off or time is up.
struct Try {
  std::unique_ptr<ports::Outlet> outlet;
  OffResult result;
  bool outstanding = false;
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
      if (!one.result.confirmed && !one.outstanding) {
        one.outstanding = true;
        one.outlet->off([&one](const ports::OutletAnswer& answer) {
          one.outstanding = false;
          one.result.confirmed = answer && *answer == ports::OutletState::off;
        });
      }
      waiting = waiting || !one.result.confirmed;
    }
    if (waiting) {
      loop.run_one_for(kTryEvery);
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
