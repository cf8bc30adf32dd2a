// Everything off by a person at the station (`limegate off` beside a running daemon): at once, and
// until a person releases it.

#include <algorithm>
#include <chrono>

#include <gtest/gtest.h>

#include "station/bench.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using Command = Bench::Command;
using Result = Bench::Result;

const char* const kLatch = "switched-off";

std::size_t offs(const Bench& bench, rules::OutletRole role) {
  return static_cast<std::size_t>(
      std::count_if(bench.log.begin(), bench.log.end(), [&](const Effect& effect) {
        const auto* off = std::get_if<SwitchOff>(&effect);
        return off != nullptr && off->role == role;
      }));
}

TEST(SwitchAllOff, ends_a_running_pulse_at_once_and_closes_its_row) {
  Bench bench;
  ASSERT_TRUE(bench.until<RunEffect>(5h));
  while (bench.newest<RunEffect>()->role != rules::OutletRole::pump) {
    ASSERT_TRUE(bench.until<RunEffect>(5h));
  }
  ASSERT_EQ(bench.phase(), PumpDuty::Phase::running);
  ASSERT_EQ(bench.command(SwitchAllOff{}).verdict, Answer::Verdict::accepted);
  EXPECT_LE(bench.pump_until, bench.now.mono) << "not only at the next step";
  EXPECT_EQ(bench.newest<ClosePulse>()->fate, Fate::cut_short);
  bench.run(1s);
  EXPECT_TRUE(bench.held_for(kLatch));
  EXPECT_EQ(bench.raised("held-switched-off"), 1U);
}

TEST(SwitchAllOff, ends_a_running_stir_at_once_and_settles_anew) {
  Bench bench;
  ASSERT_TRUE(bench.until<AppendStir>());
  bench.run(2min);
  ASSERT_GT(bench.stirrer_until, bench.now.mono);
  (void)bench.command(SwitchAllOff{});
  EXPECT_LE(bench.stirrer_until, bench.now.mono);
  EXPECT_TRUE(bench.newest<CloseStir>());
  bench.run(1s);
  EXPECT_TRUE(bench.held_for("settling"));
}

TEST(SwitchAllOff, a_pulse_or_a_stir_that_was_written_down_and_not_sent_is_not_begun) {
  for (const bool pulse : {true, false}) {
    Bench bench;
    ASSERT_TRUE(pulse ? bench.until<AppendPulse>(5h).has_value()
                      : bench.until<AppendStir>().has_value());
    const std::size_t runs = bench.count<RunEffect>();
    (void)bench.command(SwitchAllOff{});
    bench.run(10s);
    EXPECT_EQ(bench.count<RunEffect>(), runs) << (pulse ? "pulse" : "stir");
  }
}

TEST(SwitchAllOff, nothing_runs_for_days_nor_after_a_restart_until_it_is_released) {
  Bench bench;
  bench.run(4h);
  const std::size_t runs = bench.count<RunEffect>();
  ASSERT_GT(runs, 0U);
  (void)bench.command(SwitchAllOff{});
  bench.run(49h);
  EXPECT_EQ(bench.count<RunEffect>(), runs);
  EXPECT_EQ(bench.command(Resume{}).verdict, Answer::Verdict::refused);
  EXPECT_EQ(bench.command(StirNow{}).verdict, Answer::Verdict::refused);
  EXPECT_EQ(bench.command(RunAttended{Millilitres{20.0}}).verdict, Answer::Verdict::refused);

  Bench again{Bench::usual(), bench.history(), bench.now};
  again.run(6h);
  EXPECT_TRUE(again.held_for(kLatch));
  EXPECT_EQ(again.count<RunEffect>(), 0U);
  EXPECT_EQ(again.command(Release{kLatch}, Origin::afar).verdict, Answer::Verdict::refused);
  EXPECT_EQ(again.command(Release{kLatch}).verdict, Answer::Verdict::accepted);
  again.run(6h);
  EXPECT_GT(again.count<RunEffect>(), 0U);
}

TEST(SwitchAllOff, is_told_and_stored_once_however_often_it_comes) {
  Bench bench;
  bench.run(1min);
  for (int n = 0; n < 5; ++n) {
    EXPECT_EQ(bench.command(SwitchAllOff{}).verdict, Answer::Verdict::accepted);
    bench.run(10s);
  }
  EXPECT_EQ(bench.count<StoreLatch>(), 1U);
  EXPECT_EQ(bench.raised("held-switched-off"), 1U);
}

TEST(SwitchAllOff, from_afar_switches_and_holds_nothing) {
  Bench bench;
  bench.run(1min);
  const std::size_t before = offs(bench, rules::OutletRole::pump);
  (void)bench.command(SwitchAllOff{}, Origin::afar);
  bench.run(10s);
  EXPECT_FALSE(bench.held_for(kLatch));
  EXPECT_EQ(offs(bench, rules::OutletRole::pump), before);
  EXPECT_EQ(bench.count<StoreLatch>(), 0U);
}

TEST(SwitchAllOff, off_is_sent_anew_and_the_status_goes_by_the_answer_to_that_alone) {
  Bench bench;
  bench.run(1min);
  ASSERT_TRUE(bench.core.status(bench.now).pump_confirmed_off);
  ASSERT_TRUE(bench.core.status(bench.now).stirrer_confirmed_off);
  bench.pump_answers = bench.stirrer_answers = false;
  const std::size_t pump_offs = offs(bench, rules::OutletRole::pump);
  const std::size_t stirrer_offs = offs(bench, rules::OutletRole::stirrer);
  (void)bench.command(SwitchAllOff{});
  EXPECT_EQ(offs(bench, rules::OutletRole::pump), pump_offs + 1) << "at once";
  EXPECT_EQ(offs(bench, rules::OutletRole::stirrer), stirrer_offs + 1);
  EXPECT_FALSE(bench.core.status(bench.now).pump_confirmed_off);
  EXPECT_FALSE(bench.core.status(bench.now).stirrer_confirmed_off);
  // A look that was taken before says nothing of what was switched since.
  bench.pump(Command::read_back, Result::off);
  EXPECT_FALSE(bench.core.status(bench.now).pump_confirmed_off);
  bench.pump(Command::off, Result::off);
  bench.stirrer(Command::off, Result::off);
  EXPECT_TRUE(bench.core.status(bench.now).pump_confirmed_off);
  EXPECT_TRUE(bench.core.status(bench.now).stirrer_confirmed_off);
}

TEST(SwitchAllOff, while_the_ledger_cannot_be_written_it_holds_and_is_written_down_later) {
  Bench bench;
  bench.run(1min);
  bench.see(LedgerFault{"disk full"});
  ASSERT_EQ(bench.command(SwitchAllOff{}).verdict, Answer::Verdict::accepted);
  bench.run(1min);
  EXPECT_TRUE(bench.held_for(kLatch));
  const std::size_t stored = bench.count<StoreLatch>();
  bench.see(LedgerSound{});
  EXPECT_EQ(bench.count<StoreLatch>(), stored + 1);
  EXPECT_EQ(bench.newest<StoreLatch>()->code, kLatch);
}

TEST(SwitchAllOff, of_a_stirrer_on_its_own_timer_only_the_pump_is_switched) {
  Bench bench{Bench::observed()};
  bench.run(1min);
  (void)bench.command(SwitchAllOff{});
  EXPECT_EQ(offs(bench, rules::OutletRole::stirrer), 0U);
  EXPECT_FALSE(bench.core.status(bench.now).stirrer_confirmed_off);
  EXPECT_TRUE(bench.core.status(bench.now).pump_confirmed_off);
  bench.run(1s);
  EXPECT_EQ(bench.command(Release{kLatch}).verdict, Answer::Verdict::accepted);
}

}  // namespace
}  // namespace limegate::station
