#include "app/rehearsed_past.h"

#include <chrono>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "app/log.h"
#include "app/reading_row.h"
#include "app/state_dir.h"
#include "journal/readings.h"
#include "rehearsal/rehearsal.h"

namespace limegate::app {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

constexpr Duration kPast = 72h;
constexpr Duration kRowEvery = 1min;

struct Record {
  std::vector<journal::ReadingRow> rows;
  std::vector<std::pair<std::string, station::Event>> events;
};

}  // namespace

Tanks rehearse_past(const config::Config& config, const ports::Clock& clock) {
  Tanks tanks;
  const Moment now = clock.now();
  const WallTime begin = std::chrono::floor<std::chrono::seconds>(now.wall) - kPast;
  for (const config::Station& station : config.stations) {
    if (station.wiring) {
      continue;
    }
    Record record;
    rehearsal::Rehearsal::Plan plan;
    plan.settings = station.settings;
    plan.tank = station.tank;
    plan.lasting = kPast;
    plan.start = begin;
    plan.boot = fmt::format("rehearsed-{}", begin.time_since_epoch().count());
    plan.files = {ledger_path(config.state_dir),
                  guard_path(config.state_dir, station.settings.name)};
    plan.home = home_of(config.state_dir);
    plan.each_second = [&](const station::Station& core, Moment at) {
      if (at.mono.time_since_epoch() % kRowEvery == Duration::zero()) {
        record.rows.push_back(reading_row(core, at));
      }
    };
    plan.on_event = [&](const station::Event& event) {
      record.events.emplace_back(station.settings.name, event);
    };
    rehearsal::Rehearsal rehearsal{plan};
    const auto outcome = rehearsal.run();
    auto readings = journal::Readings::open(readings_path(config.state_dir), now.wall);
    if (!outcome || !readings || !readings->append(record.rows, record.events)) {
      log_warning("The days before could not be rehearsed into " + config.state_dir + ".");
      continue;
    }
    simulator::Tank tank = rehearsal.tank();
    tank.go_on_from(now);
    tanks.emplace(station.settings.name, tank);
  }
  return tanks;
}

}  // namespace limegate::app
