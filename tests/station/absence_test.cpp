// Work at the reactor, and a keeper who is away.

#include <chrono>
#include <cmath>

#include <gtest/gtest.h>

#include "station/bench.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

constexpr auto kAccepted = Answer::Verdict::accepted;
constexpr auto kRefused = Answer::Verdict::refused;

/// A station whose limewater is clear, and which doses.
class Clear : public testing::Test {
 protected:
  Clear() { EXPECT_TRUE(bench.until<RunEffect>(4h)); }
  Bench bench;
};
using WorkAtTheReactor = Clear;
using BeingAway = Clear;

TEST_F(WorkAtTheReactor, holds_dosing_and_the_stirrer_and_ends_in_settling) {
  ASSERT_EQ(bench.command(Service{2h}).verdict, kAccepted);
  EXPECT_TRUE(bench.core.status(bench.now).in_service);
  bench.run(1min);  // a stir that ran is over
  const std::size_t runs = bench.count<RunEffect>();
  bench.run(2h - 1min - 2s);
  EXPECT_EQ(bench.count<RunEffect>(), runs);
  bench.run(3s);
  EXPECT_FALSE(bench.core.status(bench.now).in_service);
  EXPECT_EQ(bench.raised("service-over"), 1U);
  EXPECT_FALSE(bench.core.gate_open()) << "it settles, or is stirred, which is overdue";
  const Instant over = bench.now.mono;
  while (!bench.newest<RunEffect>() || bench.newest<RunEffect>()->role != rules::OutletRole::pump ||
         bench.count<RunEffect>() == runs) {
    bench.second();
    ASSERT_LT(bench.now.mono - over, 6h);
  }
  EXPECT_GE(bench.now.mono - over, Bench::usual().limits.settle - 2s);
}

TEST_F(WorkAtTheReactor, that_is_ended_early_settles_too) {
  ASSERT_EQ(bench.command(Service{2h}).verdict, kAccepted);
  bench.run(10min);
  ASSERT_EQ(bench.command(Resume{}).verdict, kAccepted);
  bench.run(1s);
  EXPECT_FALSE(bench.core.status(bench.now).in_service);
  EXPECT_TRUE(bench.held_for("settling"));
}

// Found by a review: hands are in the reactor, and a second person pauses for a minute.
TEST_F(WorkAtTheReactor, is_ended_by_no_pause_and_ends_none) {
  ASSERT_EQ(bench.command(Service{3h}).verdict, kAccepted);
  const Answer paused = bench.command(Pause{1min});
  EXPECT_NE(paused.sentence.find("work at the reactor lasts"), std::string::npos)
      << paused.sentence;
  const std::size_t runs = bench.count<RunEffect>();
  bench.run(3h - 1min);
  EXPECT_TRUE(bench.core.status(bench.now).in_service);
  EXPECT_EQ(bench.count<RunEffect>(), runs) << "neither pump nor stirrer";
  bench.run(2min);
  EXPECT_FALSE(bench.core.status(bench.now).in_service);
  ASSERT_EQ(bench.command(Pause{20h}).verdict, kAccepted);
  ASSERT_EQ(bench.command(Service{10min}).verdict, kAccepted);
  bench.run(11min);
  EXPECT_FALSE(bench.core.status(bench.now).in_service);
  EXPECT_GT(bench.core.status(bench.now).pause_remaining, 19h) << "the keeper's pause stands";
}

// Found by a review: the row of the old end came down, and ended the new work.
TEST_F(WorkAtTheReactor, that_goes_on_while_its_end_is_written_is_not_over) {
  ASSERT_EQ(bench.command(Service{1h}).verdict, kAccepted);
  bench.run(30min);
  bench.ledger_answers = false;
  bench.run(30min + 2s);
  ASSERT_TRUE(bench.newest<AppendStir>());
  const auto ended_by = bench.newest<AppendStir>()->stir.id;
  ASSERT_EQ(bench.command(Service{2h}).verdict, kAccepted);
  bench.see(StirDurable{ended_by});
  bench.ledger_answers = true;
  bench.run(1h);
  EXPECT_TRUE(bench.core.status(bench.now).in_service);
  ASSERT_EQ(bench.command(Service{5min}).verdict, kAccepted);
  bench.run(30min);
  EXPECT_TRUE(bench.core.status(bench.now).in_service) << "whoever came first is there still";
}

TEST_F(WorkAtTheReactor, says_why_the_stirrer_rests) {
  bench.run(2h);
  ASSERT_EQ(bench.command(Service{1h}).verdict, kAccepted);
  bench.run(1min);
  EXPECT_NE(bench.command(StirNow{}).sentence.find("A person works at the reactor"),
            std::string::npos);
}

// A daemon that is started again in the same boot finds the last stir long over.
TEST_F(WorkAtTheReactor, over_which_the_program_died_settles_from_the_start_on) {
  ASSERT_EQ(bench.command(Service{1h}).verdict, kAccepted);
  bench.run(5min);
  for (const Duration away : {Duration{1min}, Duration{3h}}) {
    Moment later = bench.now;
    later.mono += away;
    later.wall += away;
    Bench after{Bench::usual(), bench.history(), later};
    after.run(away < 1h ? 1h : 2s);
    EXPECT_FALSE(after.core.status(after.now).in_service) << in_minutes(away);
    EXPECT_TRUE(after.held_for("settling")) << in_minutes(away);
    Bench once_more{Bench::usual(), after.history(), after.now};
    once_more.run(2s);
    EXPECT_TRUE(once_more.held_for("settling")) << "also when it starts again";
  }
}

// The row of its end is lost with the disk, which is sound again before the program dies.
TEST_F(WorkAtTheReactor, that_ends_while_the_ledger_fails_settles_also_after_a_start) {
  ASSERT_EQ(bench.command(Service{1h}).verdict, kAccepted);
  bench.run(30min);
  bench.ledger_answers = false;
  bench.run(30min + 2s);
  EXPECT_TRUE(bench.core.status(bench.now).in_service) << "until its end is on the disk";
  History lost = bench.history();
  bench.see(LedgerFault{"disk full"});
  bench.run(5min);
  bench.ledger_answers = true;
  bench.log.clear();  // of what was written before the fault the disk knows, and of nothing since
  bench.see(LedgerSound{});
  bench.run(1s);
  EXPECT_FALSE(bench.core.status(bench.now).in_service);
  ASSERT_TRUE(bench.newest<CloseStir>());
  EXPECT_TRUE(bench.newest<AppendStir>()) << "its row is written anew";
  EXPECT_GE(bench.newest<CloseStir>()->end.lifetime, lost.last_stir->end.time_since_epoch());
  EXPECT_FALSE(bench.core.gate_open());
}

TEST_F(WorkAtTheReactor, that_cannot_be_written_down_is_refused) {
  bench.see(LedgerFault{"disk full"});
  EXPECT_EQ(bench.command(Service{1h}).verdict, kRefused);
}

TEST_F(BeingAway, gives_less_until_its_time_and_then_as_before) {
  ASSERT_EQ(bench.command(Away{48h, Millilitres{360.0}}).verdict, kAccepted);
  EXPECT_EQ(bench.core.status(bench.now).day_volume, Millilitres{360.0});
  EXPECT_EQ(bench.core.status(bench.now).day_volume_at_station, Millilitres{720.0});
  bench.run(48h - 1s);
  EXPECT_EQ(bench.core.status(bench.now).day_volume, Millilitres{360.0});
  EXPECT_LE(bench.core.status(bench.now).given_day, Millilitres{390.0});
  bench.run(2s);
  EXPECT_EQ(bench.core.status(bench.now).day_volume, Millilitres{720.0});
  EXPECT_FALSE(bench.core.status(bench.now).away);
  EXPECT_EQ(bench.raised("away-over"), 1U);
  EXPECT_EQ(bench.raised("dosing-below-plan"), 0U) << "it was wished";
}

TEST_F(BeingAway, wants_a_clock_that_was_set) {
  bench.now.wall_trusted = false;
  const Answer answer = bench.command(Away{72h, Millilitres{100.0}});
  EXPECT_EQ(answer.verdict, kRefused);
  EXPECT_NE(answer.sentence.find("trust-clock"), std::string::npos) << answer.sentence;
}

TEST_F(BeingAway, goes_on_over_a_restart_and_no_clock_ends_it) {
  ASSERT_EQ(bench.command(Away{48h, Millilitres{0.0}}).verdict, kAccepted);
  Moment later = bench.now;
  later.mono += 1h;
  later.wall += 24h * 365;
  Bench after{Bench::usual(), bench.history(), later};
  after.run(46h);
  EXPECT_EQ(after.core.status(after.now).day_volume, Millilitres{0.0});
  after.run(2h);
  EXPECT_EQ(after.core.status(after.now).day_volume, Millilitres{720.0});
}

TEST_F(BeingAway, is_ended_by_the_keeper_and_lets_no_volume_be_set) {
  EXPECT_EQ(bench.command(Back{}).verdict, kRefused);
  ASSERT_EQ(bench.command(Away{48h, Millilitres{360.0}}).verdict, kAccepted);
  EXPECT_EQ(bench.command(SetDayVolume{Millilitres{500.0}}).verdict, kRefused);
  EXPECT_EQ(bench.command(SetDayVolume{Millilitres{361.0}}, Origin::afar).verdict, kRefused)
      << "less than at the station, but it would not come to be";
  EXPECT_EQ(bench.command(SetDayVolume{Millilitres{100.0}}, Origin::afar).verdict, kAccepted);
  EXPECT_EQ(bench.core.status(bench.now).day_volume, Millilitres{100.0});
  EXPECT_EQ(bench.command(Back{}, Origin::afar).verdict, kRefused);
  EXPECT_EQ(bench.command(Back{}).verdict, kAccepted);
  EXPECT_EQ(bench.core.status(bench.now).day_volume, Millilitres{100.0}) << "that of afar stands";
}

struct AwayRow {
  Duration lasting;
  double ml;
  Answer::Verdict verdict;
};
class AwayBounds : public testing::TestWithParam<AwayRow> {};
INSTANTIATE_TEST_SUITE_P(Absence, AwayBounds,
                         testing::Values(AwayRow{0s, 360, kRefused}, AwayRow{-1h, 360, kRefused},
                                         AwayRow{24h * 60, 360, kAccepted},
                                         AwayRow{24h * 60 + 1s, 360, kRefused},
                                         AwayRow{24h, 720, kAccepted}, AwayRow{24h, 721, kRefused},
                                         AwayRow{24h, -1, kRefused},
                                         AwayRow{24h, std::nan(""), kRefused}));

TEST_P(AwayBounds, are_said) {
  Bench bench;
  const AwayRow& row = GetParam();
  EXPECT_EQ(bench.command(Away{row.lasting, Millilitres{row.ml}}).verdict, row.verdict);
  EXPECT_LE(bench.core.status(bench.now).day_volume, Millilitres{720.0});
}

}  // namespace
}  // namespace limegate::station
