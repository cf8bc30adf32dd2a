// The daily swing of pH under each spread of the same volume: 60 days of the simulated tank after
// three weeks in which its course is learned. The tank is a scenario of our own.
//   bench_levelling [days]
#include <algorithm>
#include <array>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <thread>
#include <vector>

#include "rehearsal/rehearsal.h"

namespace {

using namespace limegate;              // NOLINT(google-build-using-namespace): a program of its own
using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using dosing::Spread;
using rehearsal::Rehearsal;

constexpr int kLearning = 21;

struct Course {
  double swing = 0.0;  ///< mean of the days
  double low = 14.0, high = 0.0;
  double delivered_ml = 0.0;  ///< a day
};

Rehearsal::Plan plan(Spread spread, double volume_ml, std::uint64_t seed, int days) {
  Rehearsal::Plan plan;
  plan.lasting = 24h * (kLearning + days);
  auto& settings = plan.settings;
  settings.name = "bench";
  settings.limits.hour = Millilitres{347};  // +0.08 pH in 400 L
  settings.limits.day = Millilitres{volume_ml + 87};
  settings.ph = {7.1, 9.2};
  settings.temperature = {15.0, 35.0};
  settings.temperature.resolution = 0.1;
  settings.temperature.stuck_after = 12h;
  settings.plan.day_volume = Millilitres{volume_ml};
  settings.plan.pulse_max = Millilitres{87};
  settings.plan.pump_rate = MillilitresPerMinute{50};
  settings.pump_rate_dated = true;
  settings.plan.spread = spread;
  plan.tank.seed = seed;
  plan.tank.reactor.powder_g = 2000;
  plan.tank.aquarium.demand_per_day = Dkh{0.6 * volume_ml / 2000};
  return plan;
}

Course course(Spread spread, double volume_ml, std::uint64_t seed, int days) {
  Rehearsal::Plan scene = plan(spread, volume_ml, seed, days);
  Course sum;
  std::vector<double> low(static_cast<std::size_t>(kLearning + days), 14.0);
  std::vector<double> high(low.size(), 0.0);
  const WallTime start = scene.start;
  const Rehearsal* running = nullptr;
  double delivered_at_first = -1.0;
  scene.each_second = [&](const station::Station& /*core*/, Moment now) {
    const auto day = static_cast<std::size_t>((now.wall - start) / Duration{24h});
    if (day < low.size()) {
      const double ph = running->tank().aquarium().ph().count();
      low[day] = std::min(low[day], ph);
      high[day] = std::max(high[day], ph);
    }
    if (day == kLearning && delivered_at_first < 0.0) {
      delivered_at_first = running->tank().delivered().count();
    }
  };
  Rehearsal rehearsal{scene};
  running = &rehearsal;
  if (!rehearsal.run()) {
    std::abort();
  }
  for (int day = kLearning; day < kLearning + days; ++day) {
    const auto n = static_cast<std::size_t>(day);
    sum.swing += (high[n] - low[n]) / days;
    sum.low = std::min(sum.low, low[n]);
    sum.high = std::max(sum.high, high[n]);
  }
  sum.delivered_ml = (rehearsal.tank().delivered().count() - delivered_at_first) / days;
  return sum;
}

struct Named {
  const char* name;
  Spread spread;
};

void compare(double volume, int days) {
  constexpr std::array<Named, 3> spreads{
      {{"even", Spread::even}, {"night", Spread::night}, {"levelling", Spread::levelling}}};
  std::array<Course, spreads.size()> courses{};
  std::vector<std::thread> threads;
  for (std::size_t n = 0; n < spreads.size(); ++n) {
    Course& result = courses[n];
    const Spread spread = spreads[n].spread;
    threads.emplace_back([=, &result] { result = course(spread, volume, 1, days); });
  }
  for (std::size_t n = 0; n < spreads.size(); ++n) {
    threads[n].join();
    std::printf("%4.0f mL a day, %-10s swing %.3f  pH %.2f to %.2f  truly given %.0f mL a day\n",
                volume, spreads[n].name, courses[n].swing, courses[n].low, courses[n].high,
                courses[n].delivered_ml);
  }
}

}  // namespace

int main(int argc, char** argv) {
  const int days = argc > 1 ? std::max(1, std::atoi(argv[1])) : 60;
  std::printf("%d days after %d of learning; 400 L\n", days, kLearning);
  for (const double volume : {2000.0, 2400.0}) {
    compare(volume, days);
  }
  return 0;
}
