// What a day's doses of sound stations do to pH, as a share of what chemistry expects of them: the
// source of rules::SoundEffect. Ordinary reefs of our own drawing, each with a file that is off as
// files are: an alkalinity of some days ago, a water volume by eye, a pump below its highest rate.
//   bench_effect [tanks [days]]
#include <algorithm>
#include <array>
#include <atomic>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <mutex>
#include <random>
#include <thread>
#include <vector>

#include "rehearsal/rehearsal.h"
#include "station/water_response.h"

namespace {

using namespace limegate;              // NOLINT(google-build-using-namespace): a program of its own
using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using rehearsal::Rehearsal;

Rehearsal::Plan drawn(std::uint64_t seed, int days) {
  std::mt19937_64 random{seed};
  const auto between = [&](double low, double high) {
    return std::uniform_real_distribution{low, high}(random);
  };
  Rehearsal::Plan plan;
  plan.lasting = 24h * days;
  plan.tank.seed = seed;
  auto& water = plan.tank.aquarium;
  const double litres = std::exp(between(std::log(80.0), std::log(1500.0)));
  water.water = Litres{litres};
  water.alkalinity = Dkh{between(6.5, 11.0)};
  water.room_co2_ppm = between(400, 900);
  water.room_co2_swing_ppm = between(0, 300);
  water.gas_exchange_per_h = between(2, 5);
  water.respiration_per_h = MicromolPerKg{between(4, 14)};
  water.evaporation_per_day = Millilitres{10.0 * litres};
  const double day_ml = between(2.5, 6.0) * litres;
  water.demand_per_day = Dkh{0.6 * day_ml / litres / 5.0};
  plan.tank.reactor.temperature = Celsius{between(16, 28)};
  // As wide for its pump as 100 mm are for 50 mL/min, and with powder enough for all the days.
  plan.tank.reactor.bore = Millimetres{100.0 * std::sqrt(litres / 8.0 / 50.0)};
  plan.tank.reactor.powder_g = 5.0 * litres;
  plan.settings.plan.reactor_bore = plan.tank.reactor.bore;
  plan.tank.pump_share = between(0.8, 1.0);

  auto& settings = plan.settings;
  settings.name = "bench";
  settings.water = {Litres{litres * between(0.9, 1.1)},
                    Dkh{std::clamp(water.alkalinity.count() * between(0.9, 1.1), 5.0, 14.0)},
                    Salinity{35.0}};
  settings.pump_rate_dated = true;
  settings.plan.pump_rate = plan.tank.pump_rate = MillilitresPerMinute{litres / 8.0};
  settings.plan.day_volume = Millilitres{day_ml};
  settings.plan.pulse_max = Millilitres{litres / 5.0};
  settings.limits.hour = Millilitres{litres};
  settings.limits.day = Millilitres{day_ml * 1.1};
  settings.ph = {7.1, 9.2};
  settings.temperature = {15.0, 35.0};
  settings.temperature.resolution = 0.1;
  settings.temperature.stuck_after = 12h;
  return plan;
}

struct Seen {
  std::vector<double> days;     ///< each day's share that teaches
  std::vector<double> learned;  ///< of each tank, at its end
  std::size_t unsure = 0;       ///< days with too large an error
  std::size_t alerts = 0;       ///< about doses
};

void rehearse(std::uint64_t seed, int days, Seen& seen, std::mutex& all) {
  Rehearsal::Plan plan = drawn(seed, days);
  Seen mine;
  const WallTime start = plan.start;
  std::optional<double> usual;
  plan.each_second = [&](const station::Station& core, Moment now) {
    if ((now.wall - start) % Duration{24h} != Duration::zero()) {
      return;
    }
    const station::Status status = core.status(now);
    usual = status.usual_effect;
    if (const auto& today = status.effect_today) {
      if (today->error <= 0.25) {
        mine.days.push_back(today->share);
      } else {
        ++mine.unsure;
      }
    }
  };
  plan.on_event = [&](const station::Event& event) {
    mine.alerts += event.code.starts_with("dose-") ? 1U : 0U;
  };
  if (!Rehearsal{plan}.run()) {
    std::abort();
  }
  const std::lock_guard lock{all};
  seen.days.insert(seen.days.end(), mine.days.begin(), mine.days.end());
  seen.unsure += mine.unsure;
  seen.alerts += mine.alerts;
  if (usual) {
    seen.learned.push_back(*usual);
  }
}

void print(const char* what, std::vector<double> shares) {
  if (shares.empty()) {
    std::printf("%-24s none\n", what);
    return;
  }
  std::sort(shares.begin(), shares.end());
  const auto at = [&](double share) {
    return shares[static_cast<std::size_t>(share * static_cast<double>(shares.size() - 1))];
  };
  std::printf("%-24s %6zu  least %.2f  1 %% %.2f  median %.2f  99 %% %.2f  most %.2f\n", what,
              shares.size(), shares.front(), at(0.01), at(0.5), at(0.99), shares.back());
}

}  // namespace

int main(int argc, char** argv) {
  const int tanks = argc > 1 ? std::max(1, std::atoi(argv[1])) : 60;
  const int days = argc > 2 ? std::max(2, std::atoi(argv[2])) : 20;
  Seen seen;
  std::mutex all;
  std::atomic<int> next{0};
  std::vector<std::thread> threads;
  for (unsigned n = 0; n < std::max(1U, std::thread::hardware_concurrency()); ++n) {
    threads.emplace_back([&] {
      for (int tank = next++; tank < tanks; tank = next++) {
        rehearse(static_cast<std::uint64_t>(tank) + 1, days, seen, all);
      }
    });
  }
  for (std::thread& thread : threads) {
    thread.join();
  }
  std::printf("%d sound stations, %d days each; share of what chemistry expects\n", tanks, days);
  print("a day's doses", seen.days);
  print("learned at the end", seen.learned);
  std::printf("days that tell too little %zu; alerts about doses %zu\n", seen.unsure, seen.alerts);
  return 0;
}
