// What a restart must not free: slots, windows, volumes, and a climb that nobody watched.

#include <cmath>
#include <limits>

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

History that_saw(Moment now, Duration age) {
  History history;
  history.usual_course.fill({8.205, 14});
  history.reference.ph = Ph{8.2};
  history.newest_pulse_id = 60;
  const auto dosed_at = [&](Duration before) {
    return dosing::Stamp{now.mono.time_since_epoch() - before, now.wall - before};
  };
  for (int hour = 20; hour > 0; --hour) {
    history.doses.push_back({60 - hour, dosed_at(hour * 1h), Millilitres{20.0}});
  }
  history.newest_given = history.doses.back().end;
  history.seen = SeenBefore{{now.mono - age, 8.2, 8.2}};
  history.seen->left = {now.mono - age, Ph{8.2}, {PhChange{0.0}, PhChange{0.0}}};
  return history;
}

double given_in(Bench& bench, Duration lasting) {
  double given = 0.0;
  const std::size_t before = bench.log.size();
  bench.run(lasting);
  for (std::size_t i = before; i < bench.log.size(); ++i) {
    const auto* closed = std::get_if<ClosePulse>(&bench.log[i]);
    given += closed != nullptr ? closed->counted.count() : 0.0;
  }
  return given;
}

constexpr Moment kStarts{Instant{100h}, WallTime{500000h}};

TEST(SeenBefore, of_long_ago_holds_nothing) {
  for (const Duration age : {0min, 29min, 31min, 60min, 1440min, 2880min}) {
    Bench bench{Bench::usual(), that_saw(kStarts, age), kStarts};
    EXPECT_GT(given_in(bench, 8h), 100.0) << in_minutes(age) << " min ago";
  }
}

TEST(SeenBefore, what_makes_no_sense_is_not_believed) {
  const double inf = std::numeric_limits<double>::infinity();
  const double nan = std::nan("");
  std::vector<History> absurd(8, that_saw(kStarts, 1min));
  absurd[0].seen->left->residual.value = PhChange{inf};
  absurd[1].seen->left->residual.value = PhChange{nan};
  absurd[2].seen->left->residual.climb = PhChange{1e6};
  absurd[3].seen->left->residual.climb = PhChange{-1.0};
  absurd[4].seen->left->value = Ph{nan};
  absurd[5].seen->left->at = kStarts.mono + 1h;
  absurd[6].seen->ph = {kStarts.mono + 1h, 8.2, 8.2};
  absurd[7].seen->ph = {kStarts.mono - 1min, 8.2, nan};
  for (std::size_t i = 0; i < absurd.size(); ++i) {
    Bench bench{Bench::usual(), absurd[i], kStarts};
    EXPECT_GT(given_in(bench, 8h), 100.0) << i;
    EXPECT_TRUE(bench.core.latches().empty()) << i;
  }
}

TEST(SeenBefore, what_no_rule_judges_any_more_does_not_hold) {
  History no_reference = that_saw(kStarts, 1min);
  no_reference.seen->risen = true;
  no_reference.reference = {};
  Bench without{Bench::usual(), no_reference, kStarts};
  EXPECT_GT(given_in(without, 8h), 100.0) << "the reference was taken out of the file";

  History no_course = that_saw(kStarts, 1min);
  no_course.seen->risen = true;
  no_course.seen->climb_at_rest = {kStarts.mono - 5min, PhChange{0.0}};
  no_course.usual_course = {};
  Bench lost{Bench::usual(), no_course, kStarts};
  EXPECT_GT(given_in(lost, 8h), 100.0) << "the plain limit of a climb stands in its place";
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
