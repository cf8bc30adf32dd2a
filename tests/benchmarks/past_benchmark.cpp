// What a span of the past costs to read: a record of five years as a daemon leaves it, ten-minute
// means and 14 days of a row each ten seconds, of one station or of five. A warm file is read
// from memory; of a cold one the bytes that are read tell what a slow card needs.
#include <algorithm>
#include <array>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <fstream>
#include <string>
#include <utility>
#include <vector>

#include "journal/course.h"
#include "journal/readings.h"
#include "support/program.h"

namespace {

namespace journal = limegate::journal;
using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using limegate::Duration;
using limegate::WallTime;
using Clock = std::chrono::steady_clock;

constexpr Duration kDay = 24h;
const WallTime kNow{21000 * kDay};
constexpr std::array kSpans{std::pair{"an hour", Duration{1h}}, std::pair{"a day", kDay},
                            std::pair{"30 days", 30 * kDay}, std::pair{"a year", 365 * kDay},
                            std::pair{"five years", 1825 * kDay}};
constexpr int kTimes = 5;

/// Bytes that this process read so far, of memory or of a disk.
double bytes_read() {
  std::ifstream io("/proc/self/io");
  std::string name;
  double bytes = 0;
  io >> name >> bytes;
  return bytes;
}

bool fill(journal::Readings& readings, int stations) {
  std::vector<journal::ReadingRow> rows;
  const auto put = [&](WallTime from, WallTime until, Duration every) {
    for (WallTime at = from; at < until; at += every) {
      for (int station = 0; station < stations; ++station) {
        const double wave = std::sin(limegate::in_seconds(at.time_since_epoch()) / 13750.0);
        rows.push_back(
            {at, "reef-" + std::to_string(station), 8.15 + 0.1 * wave, 25.0, "good", "good", true});
      }
      if (rows.size() > 20000) {
        if (!readings.append(rows, {})) {
          return false;
        }
        rows.clear();
      }
    }
    const bool done = readings.append(rows, {}).has_value();
    rows.clear();
    return done;
  };
  // Two rows make a mean as sixty do.
  return put(kNow - 1825 * kDay, kNow - 14 * kDay, 5min) && put(kNow - 14 * kDay, kNow, 10s) &&
         readings.thin_out(kNow, {}).has_value();
}

int measure(int stations) {
  const limegate::test::TempDir folder;
  const std::string path = folder.path() + "/readings.db";
  auto readings = journal::Readings::open(path, kNow);
  if (!readings || !fill(*readings, stations)) {
    return 1;
  }
  std::printf("%d station%s\n", stations, stations == 1 ? "" : "s");
  for (const auto& [name, span] : kSpans) {
    double best = 1e9, bytes = 0;
    for (int i = 0; i < kTimes; ++i) {
      const double before = bytes_read();
      const auto begun = Clock::now();
      const auto course =
          journal::read_course({path, folder.path() + "/none"}, {"reef-0", kNow - span, kNow});
      best =
          std::min(best, std::chrono::duration<double, std::milli>(Clock::now() - begun).count());
      bytes = bytes_read() - before;
      if (!course || !course->steps.front().ph_mean) {
        return 1;
      }
    }
    std::printf("  %-12s %8.1f ms %8.1f MB read\n", name, best, bytes / 1e6);
  }
  return 0;
}

}  // namespace

int main() { return measure(1) + measure(5); }
