// Fills the state directory of a config of one simulated station, which has none yet, with so many
// days of a rehearsal that ends now: what the program then finds is a record like a daemon's. A
// scenario of our own, with an offset of the pH probe and a stirrer that stood.
//
// usage: recorded_month CONFIG DAYS

#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <string>
#include <utility>
#include <vector>

#include "app/given_config.h"
#include "app/reading_row.h"
#include "app/state_dir.h"
#include "journal/ledger.h"
#include "journal/readings.h"
#include "rehearsal/rehearsal.h"

namespace {

using namespace limegate;              // NOLINT(google-build-using-namespace): a program of its own
using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

struct Record {
  std::vector<journal::ReadingRow> rows;
  std::vector<std::pair<std::string, station::Event>> events;
};

int fill(const app::GivenConfig& given, int days) {
  const config::Config& config = given.config;
  const config::Station& station = config.stations.front();
  std::filesystem::create_directories(config.state_dir);
  const WallTime now{std::chrono::floor<std::chrono::seconds>(
      std::chrono::system_clock::now().time_since_epoch())};
  Record record;
  rehearsal::Rehearsal::Plan plan;
  plan.settings = station.settings;
  plan.settings.begins_with.reset();
  plan.tank = station.tank;
  plan.lasting = 24h * days;
  plan.start = now - plan.lasting;
  plan.boot = "recorded";
  plan.keeper = rehearsal::Rehearsal::Plan::Keeper::comes_twice_a_day;
  for (const char* fault : {"ph-offset@5d:12h=0.3", "stirrer-dead@12d:1d"}) {
    if (const auto parsed = rehearsal::parse_fault(fault, plan.lasting)) {
      plan.faults.push_back(*parsed);
    }
  }
  plan.files = {app::ledger_path(config.state_dir),
                app::guard_path(config.state_dir, station.settings.name)};
  plan.home = app::home_of(config.state_dir);
  if (!journal::Ledger::prepare(app::ledger_path(config.state_dir), {station.settings.name},
                                {plan.boot, {Instant{}, plan.start}, plan.home},
                                journal::Water::never_dosed)) {
    return 1;
  }
  plan.each_second = [&](const station::Station& core, Moment at) {
    if (at.mono.time_since_epoch() % 10s == Duration::zero()) {
      record.rows.push_back(app::reading_row(core, at));
    }
  };
  plan.on_event = [&](const station::Event& event) {
    record.events.emplace_back(station.settings.name, event);
  };
  const auto outcome = rehearsal::Rehearsal{plan}.run();
  auto readings = journal::Readings::open(app::readings_path(config.state_dir), now);
  const bool done = outcome && readings && readings->append(record.rows, record.events) &&
                    readings->thin_out(now, {});
  if (done) {
    std::printf("counted %.3f mL, highest pH %.3f\n", outcome->counted.count(), outcome->ph_high);
  }
  return done ? 0 : 1;
}

}  // namespace

int main(int argc, char** argv) {
  const auto given = app::load_given(argc == 3 ? argv[1] : "/");
  return given && given->config.stations.size() == 1 ? fill(*given, std::atoi(argv[2])) : 2;
}
