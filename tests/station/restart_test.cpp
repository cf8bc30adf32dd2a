// What a restart must not free: slots, windows, volumes, and a climb that nobody watched.

#include <gtest/gtest.h>

#include "station/bench.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

/// The same station, begun anew a second later in the same boot.
Bench restarted(const Bench& before) {
  Bench after{Bench::usual(), before.history(), {before.now.mono + 1s, before.now.wall + 1s}};
  after.ph = before.ph;
  return after;
}

double given_by(const Bench& bench) { return bench.core.status(bench.now).given_day.count(); }

// Slots of 22.5 min, each due from its middle on.
TEST(Restart, uses_no_slot_twice) {
  Bench bench;
  ASSERT_TRUE(bench.until<CloseStir>());  // from here on the start knows when it rests since
  ASSERT_TRUE(bench.until<ClosePulse>());
  Bench after = restarted(bench);
  after.run(10min);
  EXPECT_EQ(after.count<AppendPulse>(), 0U) << "the slot that was used goes on for eleven minutes";
  ASSERT_TRUE(after.until<AppendPulse>(20min)) << "the next one is not lost";
}

TEST(Restart, after_every_pulse_gives_no_more_than_the_plan) {
  Bench first;
  ASSERT_TRUE(first.until<ClosePulse>());
  std::vector<Effect> log = first.log;
  Moment now = first.now;
  for (int i = 0; i < 12; ++i) {
    Bench next{Bench::usual(), {}, now};
    next.log = log;
    const History history = next.history();
    next.core = Station{Bench::usual(), history, now};
    (void)next.until<ClosePulse>(30min);
    next.second();
    now = {next.now.mono + 1s, next.now.wall + 1s};
    log = next.log;
    EXPECT_LE(given_by(next), 720.0 + 30.0);
  }
}

TEST(Restart, a_window_in_which_another_volume_was_wished_gives_no_more) {
  Bench bench;
  ASSERT_TRUE(bench.until<CloseStir>());
  ASSERT_TRUE(bench.until<ClosePulse>());
  ASSERT_EQ(bench.command(SetDayVolume{Millilitres{360.0}}).verdict, Answer::Verdict::accepted);
  Bench after = restarted(bench);
  after.run(30min);
  EXPECT_EQ(after.count<AppendPulse>(), 0U);
  EXPECT_TRUE(after.until<AppendPulse>(3h)) << "the next window gives";
}

// 100 mL a day from afar, and a program that dies after each pulse, gave 500.
TEST(Restart, frees_nothing_of_a_small_volume) {
  Bench bench;
  bench.run(1min);
  ASSERT_EQ(bench.command(SetDayVolume{Millilitres{60.0}}, Origin::afar).verdict,
            Answer::Verdict::accepted);
  bench.run(25h);
  History history = bench.history();
  EXPECT_LE(given_by(bench), 60.0 + 5.0 + 0.01) << "12 windows of 5 mL, and one pulse";
  Bench after = restarted(bench);
  EXPECT_EQ(after.core.status(after.now).day_volume, Millilitres{60.0});
  after.run(25h);
  EXPECT_LE(given_by(after), 60.0 + 5.0 + 0.01);
}

TEST(VolumeInForce, one_that_was_lowered_stops_nobody_for_half_a_day) {
  Bench bench;
  bench.run(25h);
  ASSERT_EQ(bench.command(SetDayVolume{Millilitres{360.0}}).verdict, Answer::Verdict::accepted);
  const std::size_t before = bench.count<AppendPulse>();
  bench.run(6h);
  EXPECT_GE(bench.count<AppendPulse>(), before + 2);
}

TEST(ClimbUnseen, a_start_without_a_young_reading_holds_until_a_whole_window_was_seen) {
  Bench bench;
  bench.run(6min);
  EXPECT_TRUE(bench.held_for("ph-climb-unknown"));
  bench.run(25min);
  EXPECT_FALSE(bench.held_for("ph-climb-unknown"));
}

TEST(ClimbUnseen, a_start_with_a_young_reading_goes_on_and_holds_for_a_climb_since) {
  Bench bench;
  bench.run(3h);
  Bench well = restarted(bench);
  well.run(10s);
  EXPECT_FALSE(well.held_for("ph-climb-unknown"));
  Bench risen = restarted(bench);
  risen.ph = 8.33;
  risen.run(10s);
  EXPECT_TRUE(risen.held_for("ph-climbing"));
}

// 35 min without the probe, in which pH rose by 0.2: a pulse came within minutes.
TEST(ClimbUnseen, a_rise_while_the_probe_was_silent_holds) {
  Bench bench;
  bench.run(3h);
  bench.samples = false;
  bench.run(35min);
  bench.samples = true;
  bench.ph = 8.36;
  bench.run(10s);
  EXPECT_TRUE(bench.held_for("ph-climbing"));
  bench.run(20min);
  EXPECT_TRUE(bench.held_for("ph-climbing"));
}

// A gap of 12 s each 20 min keeps 95 % of the plan.
TEST(ClimbUnseen, short_gaps_keep_the_plan) {
  Bench whole;
  whole.run(26h);
  Bench gaps;
  for (int i = 0; i < 26 * 3; ++i) {
    gaps.samples = true;
    gaps.run(20min - 12s);
    gaps.samples = false;
    gaps.run(12s);
  }
  EXPECT_GE(given_by(gaps), 0.95 * given_by(whole));
}

TEST(ClimbUnseen, a_restart_a_day_keeps_nine_tenths_of_the_plan) {
  Bench whole;
  whole.run(30h);
  Bench before;
  before.run(13h);
  Bench after = restarted(before);
  after.run(17h);
  EXPECT_GE(given_by(after), 0.90 * given_by(whole));
}

/// A station whose pump was dead all day: its newest pulse is a day old.
History starved(Moment now) {
  History history;
  history.newest_given = dosing::Stamp{now.mono.time_since_epoch() - 25h, now.wall - 25h};
  history.doses = {{1, *history.newest_given, Millilitres{30.0}}};
  history.newest_pulse_id = 1;
  return history;
}

TEST(Shortfall, is_told_although_each_half_day_brings_a_restart) {
  const Moment start{Instant{100h}, WallTime{500000h}};
  Bench bench{Bench::usual(), starved(start), start};
  bench.samples = false;  // nothing is dosed
  bench.run(59min);
  EXPECT_EQ(bench.raised("dosing-below-plan"), 0U);
  bench.run(2min);
  EXPECT_EQ(bench.raised("dosing-below-plan"), 1U);
  bench.run(11h);
  EXPECT_EQ(bench.raised("dosing-below-plan"), 1U) << "once a day";
}

TEST(Shortfall, is_not_told_of_a_day_that_nobody_knows_whole) {
  const Moment start{Instant{100h}, WallTime{500000h}};
  Bench fresh{Bench::usual(), {}, start};
  fresh.samples = false;
  fresh.run(12h);
  EXPECT_EQ(fresh.raised("dosing-below-plan"), 0U) << "it was never dosed";

  History young = starved(start);
  young.lifetime_before_boot = -80h;  // the ledger is 20 hours old
  young.newest_given->lifetime = 1h;
  Bench bench{Bench::usual(), young, start};
  bench.samples = false;
  bench.run(3h);
  EXPECT_EQ(bench.raised("dosing-below-plan"), 0U);
  bench.run(2h);
  EXPECT_EQ(bench.raised("dosing-below-plan"), 1U);
}

TEST(Shortfall, is_not_told_for_a_volume_that_was_asked_for_today) {
  const Moment start{Instant{100h}, WallTime{500000h}};
  History history = starved(start);
  const dosing::Stamp asked{start.mono.time_since_epoch() - 20h, start.wall - 20h};
  Wish in_file{Wish::What::volume_in_file, Millilitres{720.0}};
  Wish volume{Wish::What::volume_at_station, Millilitres{700.0}};
  in_file.asked = volume.asked = asked;
  history.wishes = {in_file, volume};
  Bench bench{Bench::usual(), history, start};
  bench.samples = false;
  bench.run(3h);
  EXPECT_EQ(bench.raised("dosing-below-plan"), 0U);
  bench.run(2h);
  EXPECT_EQ(bench.raised("dosing-below-plan"), 1U);
}

}  // namespace
}  // namespace limegate::station
