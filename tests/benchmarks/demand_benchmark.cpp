// The estimate of demand and of the volume that holds, on series whose truth is known, beside (a)
// one who knows the noise, the drift, the moment of the step and which tests are slips, and (b) the
// rule of thumb: the mass balance of the last two tests. Tanks and keepers are of our own drawing.
//   bench_demand [runs [seed]]
#include <array>
#include <atomic>
#include <cstdio>
#include <cstdlib>
#include <mutex>
#include <thread>
#include <vector>

#include "benchmarks/demand_score.h"

namespace {

using namespace limegate;  // NOLINT(google-build-using-namespace): a program of its own
using namespace bench;     // NOLINT(google-build-using-namespace): a program of its own

/// Adds up `runs` scores, over all cores.
template <class ScoreOf>
Score sum(int runs, std::uint64_t seed, const ScoreOf& score_of_one) {
  Score all;
  std::mutex lock;
  std::atomic<int> next{0};
  std::vector<std::thread> threads;
  for (unsigned i = 0; i < std::max(1U, std::thread::hardware_concurrency()); ++i) {
    threads.emplace_back([&] {
      for (int run = next++; run < runs; run = next++) {
        const Score one = score_of_one(seed + static_cast<std::uint64_t>(run));
        const std::lock_guard hold{lock};
        all.add(one);
      }
    });
  }
  for (std::thread& thread : threads) {
    thread.join();
  }
  return all;
}

using Scores = std::array<Score, kKinds.size() + 1>;  ///< the last one: all kinds

void print(const char* what, const Scores& scores, Figure Figures::*figure, int decimals) {
  std::printf(
      "\n  %-26s ours: error covers  width  score   (a) error covers  width  score   (b) error\n",
      what);
  for (std::size_t i = 0; i < scores.size(); ++i) {
    const Figure& ours = scores[i].ours.*figure;
    const Figure& knows = scores[i].knows.*figure;
    const Figure& thumb = scores[i].thumb.*figure;
    std::printf("  %-31s %6.*f %5.0f%% %6.*f %6.*f %12.*f %5.0f%% %6.*f %6.*f %11.*f\n",
                i < kKinds.size() ? kKindNames[i] : "all", decimals, ours.mean(ours.error),
                ours.covers_percent(), decimals, ours.mean(ours.width), decimals,
                ours.mean(ours.score), decimals, knows.mean(knows.error), knows.covers_percent(),
                decimals, knows.mean(knows.width), decimals, knows.mean(knows.score), decimals,
                thumb.mean(thumb.error));
  }
}

void measure(const char* what, int runs, std::uint64_t seed, const Drawing& how) {
  Scores scores;
  for (std::size_t i = 0; i < kKinds.size(); ++i) {
    scores[i] = sum(runs, seed, [&](std::uint64_t one) { return score_of(kKinds[i], one, how); });
    scores.back().add(scores[i]);
  }
  std::printf("\n%s\n", what);
  print("volume that holds, %", scores, &Figures::hold, 1);
  print("demand, %", scores, &Figures::demand, 1);
  print("what the next test reads, dKH", scores, &Figures::next, 2);
  std::fflush(stdout);
}

void measure_steps(int runs, std::uint64_t seed) {
  std::printf(
      "\nTests after the step until the volume that holds is within 15 %%: ours, (a), (b)\n");
  for (const Kind kind : {Kind::step_up, Kind::die_off}) {
    const Score all =
        sum(runs, seed, [&](std::uint64_t one) { return step_score_of(kind, one, Drawing{}); });
    std::printf("  %-31s %6.1f %6.1f %6.1f\n", kKindNames[static_cast<std::size_t>(kind)],
                1.0 * all.ours.tests_after_step / runs, 1.0 * all.knows.tests_after_step / runs,
                1.0 * all.thumb.tests_after_step / runs);
  }
}

}  // namespace

int main(int argc, char** argv) {
  const int runs = argc > 1 ? std::atoi(argv[1]) : 500;
  const std::uint64_t seed = argc > 2 ? std::strtoull(argv[2], nullptr, 10) : 5000;
  std::printf("%d series of each kind from seed %llu, 40 to 70 days, a test each week\n", runs,
              static_cast<unsigned long long>(seed));
  measure("Kit sd 0.2 dKH, demand 0.3 to 1.5 dKH a day, steps two to five tests before the end",
          runs, seed, {});
  measure_steps(runs, seed);
  measure("Kit sd 0.1 to 0.3, demand 0.2 to 3, slips of sd 3, tests and rows at odd hours", runs,
          seed, wide_drawing());
  measure("Steps in the last fifth: one or two tests after", runs, seed, late_drawing());
}
