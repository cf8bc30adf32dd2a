// What the built daemon costs a machine, beside a bare loop that polls, gates and journals and does
// nothing else. Each row runs real processes against scripted slaves on loopback for a while.
#include <algorithm>
#include <chrono>
#include <csignal>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <memory>
#include <optional>
#include <thread>
#include <vector>

#include <benchmark/benchmark.h>
#include <fmt/format.h>
#include <unistd.h>

#include "app/bench.h"
#include "benchmarks/reef_slave.h"
#include "guard/record.h"
#include "journal/ledger.h"
#include "support/broker.h"
#include "support/places.h"
#include "support/program.h"
#include "support/slave.h"
#include "support/test_clocks.h"

namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using limegate::Duration;
using limegate::Instant;
using limegate::Moment;
using limegate::test::MachineClock;
using limegate::test::Program;
using limegate::test::Slave;
using limegate::test::TempDir;

const MachineClock& machine_clock() {
  static const MachineClock clock;
  return clock;
}

/// CPU time, voluntary switches and memory of a process with all its threads.
struct Costs {
  double cpu_us = 0;
  double switches = 0;
  double peak_kb = 0;
  double anonymous_kb = 0;
};

double field(const std::string& text, const std::string& key) {
  const auto at = text.find(key);
  return at == std::string::npos ? 0 : std::stod(text.substr(at + key.size()));
}

Costs costs_of(pid_t pid) {
  Costs costs;
  const std::string process = "/proc/" + std::to_string(pid);
  for (const auto& task : std::filesystem::directory_iterator(process + "/task")) {
    std::ifstream schedule(task.path() / "schedstat");
    double ns = 0;
    schedule >> ns;
    costs.cpu_us += ns / 1000;
    costs.switches +=
        field(limegate::test::read_file(task.path() / "status"), "\nvoluntary_ctxt_switches:");
  }
  const std::string status = limegate::test::read_file(process + "/status");
  costs.peak_kb = field(status, "VmHWM:");
  costs.anonymous_kb = field(status, "RssAnon:");
  return costs;
}

/// A slave with two probes at unit 1 and a relay board at unit 2, as real as loopback gets.
std::unique_ptr<Slave> make_slave() {
  auto slave = std::make_unique<Slave>(Slave::Transport::tcp, machine_clock());
  for (const int unit : {1, 3}) {
    limegate::test::add_reef(*slave, unit);
  }
  return slave;
}

std::string station_text(const std::string& name, const std::string& bus, int unit) {
  return fmt::format(R"(
[[station]]
name = "{0}"
water_volume_l = 400
evaporation_ml_per_day = 4000
reactor_bore_mm = 150
confirmed = ["settle-time", "relay-life"]
ph = {{ bus = "{1}", unit = {2}, address = 0, scale = 0.01 }}
temperature = {{ bus = "{1}", unit = {2}, address = 1, scale = 0.1 }}
pump = {{ bus = "{1}", unit = {3}, address = 0, timed_on_register = 10, rate_ml_per_min = 50, rate_measured = 2026-11-20 }}
stirrer = {{ bus = "{1}", unit = {3}, address = 1, timed_on_register = 11 }}
plan = {{ day_volume_ml = 4000, max_pulse_ml = 6 }}
limits = {{ settle_min = 30, proven_min = 1 }}
)",
                     name, bus, unit, unit + 1);
}

std::string bus_text(const std::string& name, int port) {
  return fmt::format(
      "[[bus]]\nname = \"{}\"\ntype = \"modbus-tcp\"\nhost = \"127.0.0.1\"\n"
      "tcp_port = {}\nreply_timeout_ms = 500\n",
      name, port);
}

/// A broker, where one is asked for.
std::unique_ptr<limegate::test::Broker> maybe_broker(bool wanted) {
  auto broker = wanted ? std::make_unique<limegate::test::Broker>() : nullptr;
  if (broker) {
    broker->start();
  }
  return broker;
}

/// The daemon on `buses` buses with `per_bus` stations each, two probes a station; with MQTT or
/// without.
void daemon_costs(benchmark::State& state) {
  const auto buses = static_cast<int>(state.range(0));
  const auto per_bus = static_cast<int>(state.range(1));
  const auto lasting = std::chrono::seconds{30};
  while (state.KeepRunning()) {
    const TempDir folder;
    std::vector<std::unique_ptr<Slave>> slaves;
    const auto broker = maybe_broker(state.range(2) == 1);
    std::string text = "[daemon]\nstate_dir = \"state\"\n";
    if (broker) {
      text += fmt::format("[mqtt]\nbroker = \"mqtt://127.0.0.1:{}\"\n", broker->port());
    }
    std::string stations;
    for (int bus = 0; bus < buses; ++bus) {
      slaves.push_back(make_slave());
      text += bus_text(fmt::format("bus-{}", bus), slaves.back()->port());
      for (int i = 0; i < per_bus; ++i) {
        stations +=
            station_text(fmt::format("reef-{}-{}", bus, i), fmt::format("bus-{}", bus), 1 + 2 * i);
      }
    }
    const std::string config = folder.path() + "/config.toml";
    limegate::test::write_file(config, text + stations);
    if (limegate::test::run_program({limegate::test::limegate_path(), "prepare", config}).code !=
        0) {
      state.SkipWithError("prepare failed");
      return;
    }
    Program daemon{{limegate::test::limegate_path(), "run", config}, folder.path() + "/log"};
    std::this_thread::sleep_for(5s);
    const Costs before = costs_of(daemon.pid());
    std::this_thread::sleep_for(lasting);
    const Costs after = costs_of(daemon.pid());
    const double seconds = std::chrono::duration<double>(lasting).count();
    state.counters["probes"] = 2.0 * buses * per_bus;
    state.counters["cpu_us_per_s"] = (after.cpu_us - before.cpu_us) / seconds;
    state.counters["switches_per_s"] = (after.switches - before.switches) / seconds;
    state.counters["peak_mb"] = after.peak_kb / 1024;
    state.counters["anonymous_mb"] = after.anonymous_kb / 1024;
    daemon.signal(SIGTERM);
    (void)daemon.wait(20s);
  }
}

/// The bare loop (tests/benchmarks/floor.cpp): the least that such a daemon could cost.
void floor_costs(benchmark::State& state) {
  const auto lasting = std::chrono::seconds{30};
  while (state.KeepRunning()) {
    const TempDir folder;
    const auto slave = make_slave();
    const auto broker = maybe_broker(state.range(0) == 1);
    std::vector<std::string> argv{limegate::test::floor_path(), std::to_string(slave->port()),
                                  folder.path() + "/floor.db"};
    if (broker) {
      argv.push_back(std::to_string(broker->port()));
    }
    Program bare{argv, folder.path() + "/log"};
    std::this_thread::sleep_for(2s);
    const Costs before = costs_of(bare.pid());
    std::this_thread::sleep_for(lasting);
    const Costs after = costs_of(bare.pid());
    const double seconds = std::chrono::duration<double>(lasting).count();
    state.counters["probes"] = 2;
    state.counters["cpu_us_per_s"] = (after.cpu_us - before.cpu_us) / seconds;
    state.counters["switches_per_s"] = (after.switches - before.switches) / seconds;
    state.counters["peak_mb"] = after.peak_kb / 1024;
    state.counters["anonymous_mb"] = after.anonymous_kb / 1024;
  }
}

/// One day of a dosing station on the shared clock: what goes into the journal and to the disk.
void bytes_a_day(benchmark::State& state) {
  while (state.KeepRunning()) {
    limegate::test::Bench::Plan plan;
    plan.stir_every_min = 120;
    plan.settle_min = 60;
    plan.max_pulse_ml = 60;
    limegate::test::Bench bench{plan};
    bench.prepare();
    bench.start();
    const auto written = [&] {
      return field(
          limegate::test::read_file("/proc/" + std::to_string(bench.daemon().pid()) + "/io"),
          "\nwrite_bytes:");
    };
    (void)bench.let_pass(1h);
    const double before = written();
    if (!bench.let_pass(24h)) {
      state.SkipWithError("the daemon stopped");
      return;
    }
    const double reached = written() - before;
    (void)bench.stop();
    double files = 0;
    for (const auto& file : std::filesystem::directory_iterator(bench.state_dir())) {
      files += static_cast<double>(file.file_size());
    }
    state.counters["written_mb_per_day"] = reached / 1e6;
    state.counters["files_mb_after_a_day"] = files / 1e6;
  }
}

/// Makes the ledger and the guards of new stations say that they stirred a while ago, in this boot,
/// and that the water has settled since.
void pretend_settled(const std::string& state_dir, const std::vector<std::string>& names) {
  std::string boot;
  std::ifstream("/proc/sys/kernel/random/boot_id") >> boot;
  const Moment start = machine_clock().now();
  std::vector<limegate::journal::Beside> beside;
  beside.reserve(names.size());
  for (const std::string& name : names) {
    beside.push_back({name, std::nullopt});
  }
  auto ledger = limegate::journal::Ledger::open(state_dir + "/ledger.db", beside, {boot, start});
  for (const std::string& name : names) {
    const auto lifetime = start.mono.time_since_epoch() + ledger->lifetime_before_boot();
    (void)ledger->append(
        name, limegate::station::StirRecord{1, 15min, {lifetime - 47min, start.wall - 47min}});
    (void)ledger->close_stir(name, 1, {lifetime - 32min, start.wall - 32min});
    limegate::guard::Record record;
    record.boot = boot;
    record.stir_ended = start.mono - 32min;
    (void)limegate::guard::write_record(fmt::format("{}/guard-{}", state_dir, name), record);
  }
}

void report(benchmark::State& state, std::vector<double>& delays_ms) {
  std::sort(delays_ms.begin(), delays_ms.end());
  state.counters["excursions"] = static_cast<double>(delays_ms.size());
  if (!delays_ms.empty()) {
    state.counters["p50_ms"] = delays_ms[delays_ms.size() / 2];
    state.counters["p99_ms"] =
        delays_ms[std::min(delays_ms.size() - 1, delays_ms.size() * 99 / 100)];
  }
}

/// Real time from the moment a probe's register passes the ceiling to the pump's off at the board,
/// for many stations at once, each on a bus of its own.
void excursion_to_off(benchmark::State& state) {
  constexpr int station_count = 16;
  struct Watch {
    std::unique_ptr<Slave> slave;
    std::optional<Instant> fire_at;
    std::optional<Instant> excursion;
  };
  while (state.KeepRunning()) {
    const TempDir folder;
    std::vector<std::unique_ptr<Watch>> watches;
    std::string text = "[daemon]\nstate_dir = \"state\"\n";
    std::string stations;
    std::vector<std::string> names;
    for (int i = 0; i < station_count; ++i) {
      watches.push_back(std::make_unique<Watch>());
      watches.back()->slave = make_slave();
      names.push_back(fmt::format("reef-{}", i));
      text += bus_text(names.back(), watches.back()->slave->port());
      stations += station_text(names.back(), names.back(), 1);
    }
    const std::string config = folder.path() + "/config.toml";
    limegate::test::write_file(config, text + stations);
    (void)limegate::test::run_program({limegate::test::limegate_path(), "prepare", config});
    pretend_settled(folder.path() + "/state", names);
    Program daemon{{limegate::test::limegate_path(), "run", config}, folder.path() + "/log"};
    const auto deadline = std::chrono::steady_clock::now() + 420s;
    std::vector<double> all;
    int fired = 0;
    while (all.size() < 64 && std::chrono::steady_clock::now() < deadline) {
      std::this_thread::sleep_for(3ms);
      const Instant now = machine_clock().now().mono;
      for (const auto& watch : watches) {
        const bool on = watch->slave->is_on(2, 0);
        if (on && !watch->fire_at && !watch->excursion) {
          // Somewhere in the pulse, not at its edge.
          watch->fire_at = now + std::chrono::milliseconds{1000 + fired++ * 337 % 4000};
        } else if (on && watch->fire_at && now >= *watch->fire_at) {
          watch->fire_at.reset();
          watch->excursion = machine_clock().now().mono;
          watch->slave->set_holding(1, 0, 847);
        } else if (!on && watch->excursion) {
          const auto last = watch->slave->log().back();
          if (last.cause == limegate::test::ChangeCause::command &&
              last.at.mono > *watch->excursion) {
            all.push_back(
                std::chrono::duration<double, std::milli>(last.at.mono - *watch->excursion)
                    .count());
          }
          watch->slave->set_holding(1, 0, 836);
          watch->excursion.reset();
        } else if (!on) {
          watch->fire_at.reset();
        }
      }
    }
    daemon.signal(SIGTERM);
    (void)daemon.wait(20s);
    report(state, all);
  }
}

}  // namespace

BENCHMARK(floor_costs)->Arg(0)->Arg(1)->Iterations(1)->Unit(benchmark::kSecond);
BENCHMARK(daemon_costs)
    ->Args({1, 1, 0})
    ->Args({1, 1, 1})
    ->Args({50, 2, 0})
    ->Args({50, 2, 1})
    ->Iterations(1)
    ->Unit(benchmark::kSecond);
BENCHMARK(bytes_a_day)->Iterations(1)->Unit(benchmark::kSecond);
BENCHMARK(excursion_to_off)->Iterations(1)->Unit(benchmark::kSecond);
BENCHMARK_MAIN();
