// A slow disk and a second fault at once: nothing is dosed twice, no slot and no stir is lost.

#include <deque>
#include <utility>

#include <gtest/gtest.h>

#include "station/bench.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

std::size_t runs(const Bench& bench, rules::OutletRole role) {
  std::size_t count = 0;
  for (const Effect& effect : bench.log) {
    const auto* run = std::get_if<RunEffect>(&effect);
    count += run != nullptr && run->role == role ? 1U : 0U;
  }
  return count;
}

TEST(SlowDiskAndMore, an_attended_pulse_that_was_late_does_not_free_the_slot_before_it) {
  Bench bench;
  ASSERT_TRUE(bench.until<RunEffect>(8h));
  while (bench.newest<RunEffect>()->role != rules::OutletRole::pump) {
    ASSERT_TRUE(bench.until<RunEffect>(8h));
  }
  ASSERT_TRUE(bench.until<ClosePulse>());
  ASSERT_EQ(bench.newest<ClosePulse>()->fate, Fate::given);
  const std::size_t given = runs(bench, rules::OutletRole::pump);
  ASSERT_EQ(bench.command(RunAttended{Millilitres{20.0}}).verdict, Answer::Verdict::accepted);
  bench.ledger_answers = false;
  const auto append = bench.until<AppendPulse>(5min);
  ASSERT_TRUE(append);
  bench.run(8s);
  bench.see(PulseDurable{append->pulse.id});
  bench.second();
  ASSERT_EQ(bench.newest<ClosePulse>()->fate, Fate::not_given);
  bench.ledger_answers = true;
  bench.run(4min);
  EXPECT_EQ(runs(bench, rules::OutletRole::pump), given) << "its slot was given already";
}

TEST(SlowDiskAndMore, a_row_that_hangs_until_the_ledger_is_given_up_costs_no_slot) {
  Bench bench;
  bench.ledger_answers = false;
  ASSERT_TRUE(bench.until<AppendPulse>(8h));
  bench.run(40s);
  bench.see(LedgerFault{"the disk has not answered"});
  bench.run(70s);
  bench.ledger_answers = true;
  bench.see(LedgerSound{});
  bench.run(3min);
  EXPECT_EQ(runs(bench, rules::OutletRole::pump), 1U) << "the same slot again";
}

TEST(SlowDiskAndMore, a_stir_whose_row_hangs_until_the_ledger_is_given_up_is_tried_again) {
  Bench bench;
  const std::size_t stirs = runs(bench, rules::OutletRole::stirrer);
  const std::size_t rows = bench.count<AppendStir>();
  for (const Instant end = bench.now.mono + 8h;
       bench.now.mono < end && bench.count<AppendStir>() == rows;) {
    bench.ledger_answers = false;
    const std::size_t pulses = bench.count<AppendPulse>();
    bench.second();
    if (bench.count<AppendPulse>() > pulses) {
      bench.see(PulseDurable{bench.newest<AppendPulse>()->pulse.id});
    }
  }
  ASSERT_GT(bench.count<AppendStir>(), rows);
  bench.run(40s);
  bench.see(LedgerFault{"the disk has not answered"});
  bench.run(70s);
  bench.ledger_answers = true;
  bench.see(LedgerSound{});
  bench.run(3min);
  EXPECT_EQ(runs(bench, rules::OutletRole::stirrer), stirs + 1);
}

TEST(SlowDiskAndMore, one_slow_row_is_no_alert_when_nothing_is_due_for_long) {
  Bench bench;
  bench.ledger_answers = false;
  const auto append = bench.until<AppendPulse>(8h);
  ASSERT_TRUE(append);
  bench.run(8s);
  ASSERT_EQ(bench.command(Pause{1h}).verdict, Answer::Verdict::accepted);
  bench.see(PulseDurable{append->pulse.id});
  bench.ledger_answers = true;
  bench.run(3h);
  EXPECT_EQ(bench.raised("disk-slow"), 0U) << "one row of eight seconds is not two minutes";
}

TEST(SlowDiskAndMore, one_slow_row_of_an_observed_stirrer_is_no_alert) {
  Bench bench{Bench::observed()};
  bench.see(StirrerSample{false});
  bench.run(1min);
  bench.ledger_answers = false;
  bench.see(StirrerSample{true});
  ASSERT_TRUE(bench.newest<AppendStir>());
  for (int i = 0; i < 8; ++i) {
    bench.second();
    bench.see(StirrerSample{true});
  }
  bench.see(StirDurable{bench.newest<AppendStir>()->stir.id});
  bench.ledger_answers = true;
  for (int i = 0; i < 600; ++i) {
    bench.second();
    bench.see(StirrerSample{false});
  }
  EXPECT_EQ(bench.raised("disk-slow"), 0U);
}

struct Hours : testing::Test {
  Bench bench;
  /// Every row is durable after so long, for so long.
  void slow_for(Duration hours, Duration row) {
    std::deque<std::pair<Instant, Observation>> durable;
    std::size_t seen = bench.log.size();
    bench.ledger_answers = false;
    for (const Instant end = bench.now.mono + hours; bench.now.mono < end;) {
      bench.second();
      for (; seen < bench.log.size(); ++seen) {
        if (const auto* pulse = std::get_if<AppendPulse>(&bench.log[seen])) {
          durable.emplace_back(bench.now.mono + row, PulseDurable{pulse->pulse.id});
        } else if (const auto* stir = std::get_if<AppendStir>(&bench.log[seen])) {
          durable.emplace_back(bench.now.mono + row, StirDurable{stir->stir.id});
        }
      }
      while (!durable.empty() && bench.now.mono >= durable.front().first) {
        const Observation one = durable.front().second;
        durable.pop_front();
        bench.see(one);
      }
    }
    for (const auto& one : durable) {
      bench.see(one.second);
    }
    bench.ledger_answers = true;
  }
};

TEST_F(Hours, a_disk_that_is_slow_for_a_day_floods_nobody_and_dosing_goes_on_after_it) {
  bench.run(3h);
  const std::size_t held = bench.raised("held-disk-slow");
  slow_for(24h, 6s);
  EXPECT_LE(bench.raised("held-disk-slow") - held, 24U * 12U + 3U);
  EXPECT_EQ(bench.raised("disk-slow"), 1U);
  const std::size_t given = runs(bench, rules::OutletRole::pump);
  bench.run(8h);
  EXPECT_GE(runs(bench, rules::OutletRole::pump), given + 4U);
  EXPECT_FALSE(bench.held_for("disk-slow"));
}

}  // namespace
}  // namespace limegate::station
