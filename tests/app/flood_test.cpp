#include <algorithm>
#include <atomic>
#include <string>

#include <gtest/gtest.h>

#include "app/bench.h"

namespace limegate::test {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

/// How many events the log told of one by one, and how many it counted.
struct Told {
  int lines = 0;
  int counted = 0;
};

Told told_of(const std::string& log, const std::string& code) {
  Told told;
  for (std::size_t at = 0; (at = log.find("event=" + code + " ", at)) != std::string::npos; ++at) {
    ++told.lines;
  }
  for (std::size_t at = 0; (at = log.find("event=repeated-" + code + " ", at)) != std::string::npos;
       ++at) {
    const std::string line = log.substr(at, log.find('\n', at) - at);
    const std::size_t number = line.find("... ");
    // "... no more like it" is a calm window's count.
    told.counted += contains(line, " ... no more like it") ? 0 : std::stoi(line.substr(number + 4));
  }
  return told;
}

// The probes refuse every other poll for three hours: thousands of changes.
TEST(Flood, a_flapping_probe_is_told_first_then_counted_and_then_its_recovery) {
  Bench bench{{}};
  std::atomic<bool> flapping{true};
  std::atomic<int> spoilt{0};
  std::atomic<bool> apart{false};  // both in one read, until the driver looks which one is refused
  bench.also_on_request([&](const Slave::Event& event) {
    if (event.unit != Bench::kProbes || event.phase != Slave::Event::Phase::after || !flapping) {
      return;
    }
    // The temperature is read last: both probes answer one poll and refuse the next.
    apart = apart || event.address == 1;
    if (event.address == 1 || !apart) {
      bench.slave().script({Misbehaviour::exception, 2, Bench::kProbes});
      spoilt += 2;
    }
  });
  bench.prepare();
  bench.start();
  ASSERT_TRUE(bench.let_pass(3h)) << bench.log();
  flapping = false;
  ASSERT_TRUE(bench.let_pass(15min)) << bench.log();
  EXPECT_TRUE(contains(bench.log(), "Each is told again from now on.")) << bench.log();
  EXPECT_EQ(bench.stop(), 0);
  const std::string log = bench.log();
  const Told told = told_of(log, "probe-fault");
  EXPECT_EQ(told.lines, 12);
  // Nothing is lost: each is told or counted.
  EXPECT_GT(spoilt, 5000);
  EXPECT_NEAR(told.lines + told.counted, spoilt, 2);
  EXPECT_LT(std::count(log.begin(), log.end(), '\n'), 300) << log;
  // The log, the record and every listener share one stream.
  EXPECT_EQ(bench.record_number("SELECT count(*) FROM events WHERE code = 'probe-fault'"),
            told.lines);
}

}  // namespace
}  // namespace limegate::test
