// Simulated days in a second on one core: the real core, guard, shell, tank and judge at steps of a
// second, with the ledger in a real SQLite file in memory, and on the disk of the current folder.
#include <filesystem>

#include <benchmark/benchmark.h>

#include "rehearsal/campaign.h"

namespace {

using limegate::rehearsal::Rehearsal;
using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

constexpr int kDays = 10;

/// 400 L, 2000 mL a day; the scenario is our own.
Rehearsal::Plan plan() {
  Rehearsal::Plan plan;
  plan.lasting = 24h * kDays;
  auto& settings = plan.settings;
  settings.name = "bench";
  settings.limits.hour = limegate::Millilitres{350};
  settings.limits.day = limegate::Millilitres{2090};
  settings.ph = {7.1, 9.2};
  settings.temperature = {15.0, 35.0};
  settings.temperature.resolution = 0.1;
  settings.temperature.stuck_after = 12h;
  settings.plan.day_volume = limegate::Millilitres{2000};
  settings.plan.pulse_max = limegate::Millilitres{85};
  settings.plan.pump_rate = limegate::MillilitresPerMinute{50};
  settings.pump_rate_dated = true;
  return plan;
}

void rehearse(benchmark::State& state, const Rehearsal::Plan& plan) {
  while (state.KeepRunning()) {
    benchmark::DoNotOptimize(Rehearsal{plan}.run().value().delivered);
  }
  state.counters["days_per_s"] = benchmark::Counter(static_cast<double>(state.iterations()) * kDays,
                                                    benchmark::Counter::kIsRate);
}

void healthy(benchmark::State& state) { rehearse(state, plan()); }
BENCHMARK(healthy)->Unit(benchmark::kMillisecond);

void with_faults(benchmark::State& state) {
  Rehearsal::Plan scene = plan();
  scene.faults = limegate::rehearsal::random_faults(1, scene.lasting, scene.settings);
  rehearse(state, scene);
}
BENCHMARK(with_faults)->Unit(benchmark::kMillisecond);

void with_the_ledger_on_the_disk(benchmark::State& state) {
  Rehearsal::Plan scene = plan();
  scene.scratch = std::filesystem::current_path().string();
  rehearse(state, scene);
}
BENCHMARK(with_the_ledger_on_the_disk)->Unit(benchmark::kMillisecond)->UseRealTime();

}  // namespace

BENCHMARK_MAIN();
