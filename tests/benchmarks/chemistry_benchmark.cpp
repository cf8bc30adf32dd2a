// How many points of seawater the chemistry solves in a second. Not run by ctest: a figure is worth
// something only on a machine that does nothing else. Built as bench_chemistry.

#include <cstddef>
#include <vector>

#include <benchmark/benchmark.h>

#include "chemistry/carbonate_system.h"
#include "chemistry/dose.h"

namespace {

using namespace limegate;             // NOLINT(google-build-using-namespace): a program of its own
using namespace limegate::chemistry;  // NOLINT(google-build-using-namespace): as above

constexpr int kPoints = 1024;

struct Point {
  Salinity salinity;
  Celsius temperature;
  MicromolPerKg alkalinity;
  PhTotal ph;
  MicromolPerKg carbon;
  SeawaterConstants constants;
};

/// Waters of the range that reef tanks see, no two alike, so that no answer can be reused.
std::vector<Point> points() {
  std::vector<Point> all;
  for (int i = 0; i < kPoints; ++i) {
    const auto part = [i](int stride) {
      return static_cast<double>(i * stride % kPoints) / kPoints;
    };
    Point p{Salinity{30.0 + 8.0 * part(37)},
            Celsius{18.0 + 14.0 * part(101)},
            MicromolPerKg{1800.0 + 2400.0 * part(211)},
            PhTotal{7.6 + 1.2 * part(307)},
            {},
            {}};
    p.constants = *seawater_constants(p.salinity, p.temperature);
    p.carbon = solve_from_ph(p.constants, p.alkalinity, p.ph)->dissolved_carbon;
    all.push_back(p);
  }
  return all;
}

template <class Solve>
void run(benchmark::State& state, Solve solve) {
  const auto all = points();
  std::size_t i = 0;
  while (state.KeepRunning()) {
    benchmark::DoNotOptimize(solve(all[i]));
    i = (i + 1) % all.size();
  }
  state.counters["points"] =
      benchmark::Counter(static_cast<double>(state.iterations()), benchmark::Counter::kIsRate);
}

void constants_alone(benchmark::State& state) {
  run(state, [](const Point& p) { return seawater_constants(p.salinity, p.temperature); });
}
void alkalinity_and_ph_constants_kept(benchmark::State& state) {
  run(state, [](const Point& p) { return solve_from_ph(p.constants, p.alkalinity, p.ph); });
}
void alkalinity_and_ph_constants_anew(benchmark::State& state) {
  run(state, [](const Point& p) {
    return solve_from_ph(*seawater_constants(p.salinity, p.temperature), p.alkalinity, p.ph);
  });
}
void alkalinity_and_carbon_constants_kept(benchmark::State& state) {
  run(state, [](const Point& p) { return solve_from_carbon(p.constants, p.alkalinity, p.carbon); });
}
void alkalinity_and_carbon_constants_anew(benchmark::State& state) {
  run(state, [](const Point& p) {
    return solve_from_carbon(*seawater_constants(p.salinity, p.temperature), p.alkalinity,
                             p.carbon);
  });
}
void effect_of_a_dose(benchmark::State& state) {
  const Limewater limewater = *limewater_of(MmolPerKg{20.3}, Celsius{25.0});
  run(state, [&](const Point& p) {
    const Tank tank{Kilograms{800.0}, p.salinity, p.temperature,
                    p.alkalinity,     p.carbon,   p.constants.calcium};
    return effect_of(tank, limewater, Millilitres{100.0});
  });
}
void largest_dose_within_limits(benchmark::State& state) {
  const Limewater limewater = *limewater_of(MmolPerKg{20.3}, Celsius{25.0});
  run(state, [&](const Point& p) {
    const Tank tank{Kilograms{800.0}, p.salinity, p.temperature,
                    p.alkalinity,     p.carbon,   p.constants.calcium};
    return largest_dose(tank, limewater, DoseLimits{});
  });
}

BENCHMARK(constants_alone);
BENCHMARK(alkalinity_and_ph_constants_kept);
BENCHMARK(alkalinity_and_ph_constants_anew);
BENCHMARK(alkalinity_and_carbon_constants_kept);
BENCHMARK(alkalinity_and_carbon_constants_anew);
BENCHMARK(effect_of_a_dose);
BENCHMARK(largest_dose_within_limits);

}  // namespace

BENCHMARK_MAIN();
