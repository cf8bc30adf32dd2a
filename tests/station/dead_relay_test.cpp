// A pump that does not go on when it is switched on: told within the pulse, and counted in full.

#include <gtest/gtest.h>

#include "station/bench.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using Command = Bench::Command;
using Result = Bench::Result;
using Phase = PumpDuty::Phase;

class DeadRelay : public testing::TestWithParam<RunEnds> {
 protected:
  static Settings settings() {
    Settings settings = Bench::usual();
    settings.pump_ends = GetParam();
    return settings;
  }
  Bench bench{settings()};

  /// One pulse whose contact says off from the first moment.
  void dead_pulse() {
    bench.ledger_answers = false;
    const auto append = bench.until<AppendPulse>();
    ASSERT_TRUE(append);
    bench.ledger_answers = true;
    bench.pump_answers = false;
    bench.see(PulseDurable{append->pulse.id});
    bench.second();
    ASSERT_EQ(bench.phase(), Phase::sent);
    bench.pump(Command::run, Result::off);
    bench.pump_answers = true;
    bench.pump_until = bench.now.mono;
  }
};
INSTANTIATE_TEST_SUITE_P(, DeadRelay, testing::Values(RunEnds::by_board, RunEnds::by_us),
                         [](const auto& row) {
                           return std::string{row.param == RunEnds::by_us ? "untimed" : "timed"};
                         });

TEST_P(DeadRelay, is_told_within_the_pulse_and_counts_as_given) {
  dead_pulse();
  bench.run(10s);
  EXPECT_EQ(bench.phase(), Phase::running);
  ASSERT_EQ(bench.raised("pump-not-on"), 1U);
  EXPECT_EQ(bench.newest_event("pump-not-on").severity, Severity::alert);
  bench.run(1min);
  const auto closed = bench.newest<ClosePulse>();
  ASSERT_TRUE(closed);
  EXPECT_EQ(closed->fate, Fate::given);
  EXPECT_GE(closed->counted.count(), 30.0 - 1e-9);
}

TEST_P(DeadRelay, is_told_once_and_over_when_a_pulse_reads_on) {
  dead_pulse();
  bench.run(5min);
  dead_pulse();
  bench.run(5min);
  EXPECT_EQ(bench.raised("pump-not-on"), 1U);
  EXPECT_EQ(bench.raised("pump-on-again"), 0U);
  ASSERT_TRUE(bench.until<AppendPulse>());
  bench.run(15s);
  EXPECT_EQ(bench.raised("pump-on-again"), 1U);
  EXPECT_EQ(bench.newest_event("pump-on-again").ends, "pump-not-on");
}

TEST_P(DeadRelay, is_not_cried_for_one_wrong_look_or_for_an_end_that_is_near) {
  ASSERT_TRUE(bench.until<RunEffect>());
  bench.run(10s);
  bench.pump_answers = false;
  bench.pump(Command::read_back, Result::off);
  bench.pump(Command::read_back, Result::on);
  bench.pump(Command::read_back, Result::off);
  bench.pump(Command::read_back, Result::on);
  bench.run(34s);
  bench.pump(Command::read_back, Result::off);
  bench.pump(Command::read_back, Result::off);
  bench.pump_answers = true;
  bench.run(10min);
  EXPECT_EQ(bench.raised("pump-not-on"), 0U);
}

TEST_P(DeadRelay, is_not_cried_on_a_healthy_day) {
  bench.run(24h);
  EXPECT_EQ(bench.raised("pump-not-on"), 0U);
}

}  // namespace
}  // namespace limegate::station
