// Pauses, latches, silence, events and allowances of the core as a whole.

#include "station/station.h"

#include <set>

#include <gtest/gtest.h>

#include "station/bench.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using Command = Bench::Command;
using Result = Bench::Result;

TEST(Station, a_day_of_a_healthy_tank_gives_the_plan_and_never_more) {
  Bench bench;
  bench.run(24h);
  // Windows begin 60 min after the start and 120 min apart from the first stir at 105 min: the
  // next opens at 105 + 15 + 60. 1 + 11 windows of two pulses.
  EXPECT_EQ(bench.count<AppendPulse>(), 24U);
  EXPECT_EQ(bench.count<ClosePulse>(), 24U);
  EXPECT_EQ(bench.count<AppendStir>(), 12U);
  EXPECT_NEAR(bench.core.status(bench.now).given_day.count(), 24 * 30.0, 1e-6);
  EXPECT_FALSE(bench.ran_in_observe);
  EXPECT_EQ(bench.raised("dosing-stopped"), 0U);
}

TEST(Station, the_day_allowance_holds_and_the_next_day_frees_it) {
  Settings settings = Bench::usual();
  settings.limits.day = Millilitres{100.0};
  Bench bench{settings};
  bench.run(20h);
  EXPECT_EQ(bench.count<AppendPulse>(), 3U) << "a fourth would make 120";
  EXPECT_GE(bench.raised("held-day-allowance-spent"), 1U);
  EXPECT_NE(bench.newest_event("dosing-stopped").sentence.find("allowance of 100.0 mL"),
            std::string::npos)
      << "silence names its reason also while no pulse is due";
  bench.run(8h);
  EXPECT_EQ(bench.count<AppendPulse>(), 6U);
}

TEST(Station, doses_of_the_ledger_count) {
  History history;
  const Bench clock;
  const Duration lifetime = clock.now.mono.time_since_epoch() + 5h;
  history.lifetime_before_boot = 5h;
  history.doses.push_back({41, {lifetime - 1h, clock.now.wall - 1h}, Millilitres{720.0}});
  history.newest_pulse_id = 41;
  Bench bench{Bench::usual(), history};
  bench.run(22h);
  EXPECT_EQ(bench.count<AppendPulse>(), 0U);
  EXPECT_NEAR(bench.core.status(bench.now).given_day.count(), 720.0, 1e-9);
  const auto append = bench.until<AppendPulse>(4h);
  ASSERT_TRUE(append);
  EXPECT_EQ(append->pulse.id, 42);
  EXPECT_GE(append->pulse.reserved.lifetime, lifetime + 23h);
}

TEST(Station, recount_never_forgets) {
  Bench bench;
  ASSERT_TRUE(bench.until<AppendPulse>());
  const double before = bench.core.status(bench.now).given_day.count();
  bench.core.recount(bench.now, {});
  EXPECT_EQ(bench.core.status(bench.now).given_day.count(), before);
  const dosing::Stamp now{bench.now.mono.time_since_epoch(), bench.now.wall};
  History again;
  again.doses = {{1, now, Millilitres{5.0}}, {99, now, Millilitres{7.0}}};
  again.latches = {"pump-stuck-on"};
  bench.core.recount(bench.now, again);
  EXPECT_EQ(bench.core.latches(), (std::vector<std::string>{"pump-stuck-on"}));
  EXPECT_NEAR(bench.core.status(bench.now).given_day.count(), before + 7.0, 1e-9);
}

// A number that is used up without a row would look like a lost one at the next start.
TEST(Station, a_row_that_could_not_be_written_is_stated_when_it_can) {
  Bench bench;
  bench.ledger_answers = false;
  const auto lost = bench.until<AppendPulse>();
  ASSERT_TRUE(lost);
  bench.see(LedgerFault{"disk full"});
  bench.run(5min);
  const std::size_t before = bench.count<AppendPulse>();
  bench.see(LedgerSound{});
  ASSERT_EQ(bench.count<AppendPulse>(), before + 1);
  EXPECT_EQ(bench.newest<AppendPulse>()->pulse.id, lost->pulse.id);
  EXPECT_EQ(bench.newest<AppendPulse>()->pulse.reserved, lost->pulse.reserved);
  bench.see(LedgerFault{"disk full"});
  bench.see(LedgerSound{});
  EXPECT_EQ(bench.count<AppendPulse>(), before + 2) << "until it is there";
  bench.see(PulseDurable{lost->pulse.id});
  ASSERT_TRUE(bench.newest<ClosePulse>());
  EXPECT_EQ(bench.newest<ClosePulse>()->id, lost->pulse.id);
  EXPECT_EQ(bench.newest<ClosePulse>()->fate, Fate::not_given);
  EXPECT_EQ(bench.core.status(bench.now).given_day, Millilitres{0.0}) << "nothing was sent";
  bench.ledger_answers = true;
  const auto next = bench.until<AppendPulse>();
  ASSERT_TRUE(next);
  EXPECT_EQ(next->pulse.id, lost->pulse.id + 1);
  bench.see(LedgerFault{"disk full"});
  bench.see(LedgerSound{});
  EXPECT_EQ(bench.newest<AppendPulse>()->pulse.id, next->pulse.id) << "the first one is settled";
}

TEST(Station, doses_that_a_ledger_lost_meanwhile_are_stated_again_in_full) {
  Bench bench;
  ASSERT_TRUE(bench.until<ClosePulse>());
  ASSERT_TRUE(bench.until<ClosePulse>());
  const double given = bench.core.status(bench.now).given_day.count();
  const std::size_t before = bench.count<AppendPulse>();
  History again;
  again.doses = {{-1, {bench.now.mono.time_since_epoch(), bench.now.wall}, kCountsAsFull}};
  bench.core.recount(bench.now, again);
  bench.see(LedgerSound{});
  EXPECT_EQ(bench.count<AppendPulse>(), before + 2);
  EXPECT_NEAR(bench.core.status(bench.now).given_day.count(), kCountsAsFull.count() + given, 1e-6);
  EXPECT_EQ(bench.newest<AppendPulse>()->pulse.id, 2);
  EXPECT_EQ(bench.newest<AppendPulse>()->pulse.volume.count(), given / 2);
  bench.see(PulseDurable{1});
  bench.see(PulseDurable{2});
  EXPECT_EQ(bench.newest<ClosePulse>()->id, 2);
  EXPECT_EQ(bench.raised("pulse-given"), 2U) << "each of them was told when it ended";
}

TEST(Pause, holds_until_it_expires_to_the_second) {
  Bench bench;
  bench.run(10min);
  bench.command(Pause{1h});
  bench.run(1h - 1s);
  EXPECT_TRUE(bench.held_for("paused"));
  bench.second();
  EXPECT_FALSE(bench.held_for("paused"));
}

TEST(Pause, is_cut_to_a_day_and_a_negative_one_is_none) {
  Bench bench;
  bench.command(Pause{1000h});
  bench.run(24h - 1s);
  EXPECT_TRUE(bench.held_for("paused"));
  bench.second();
  EXPECT_FALSE(bench.held_for("paused"));
  bench.command(Pause{-5h});
  bench.second();
  EXPECT_FALSE(bench.held_for("paused"));
}

TEST(Pause, is_ended_by_resuming) {
  Bench bench;
  bench.command(Pause{5h});
  bench.second();
  bench.command(Resume{});
  bench.second();
  EXPECT_FALSE(bench.held_for("paused"));
}

TEST(Latches, of_the_ledger_are_restored_and_not_stored_again) {
  History history;
  history.latches = {"ph-second-ceiling", "pump-timer-failed", "pump-stuck-on", "stirrer-stuck-on"};
  Bench bench{Bench::usual(), history};
  bench.run(3h);
  for (const std::string& code : history.latches) {
    EXPECT_TRUE(bench.held_for(code)) << code;
  }
  EXPECT_EQ(bench.count<AppendPulse>(), 0U);
  EXPECT_EQ(bench.count<StoreLatch>(), 0U);
}

TEST(Latches, of_a_code_that_nobody_knows_holds_as_it_stands_until_it_is_released) {
  History history;
  history.latches = {"from-the-future"};
  Bench bench{Bench::usual(), history};
  bench.run(3h);
  EXPECT_TRUE(bench.held_for("from-the-future"));
  EXPECT_EQ(bench.core.latches(), history.latches);
  EXPECT_EQ(bench.count<AppendPulse>(), 0U);
  EXPECT_EQ(bench.command(Release{"from-the-future"}, Origin::afar).verdict,
            Answer::Verdict::refused);
  EXPECT_EQ(bench.command(Release{"from-the-future"}).verdict, Answer::Verdict::accepted);
  EXPECT_EQ(bench.newest<StoreLatch>()->code, "from-the-future");
  EXPECT_EQ(bench.newest<StoreLatch>()->to, StoreLatch::To::released);
  EXPECT_TRUE(bench.until<AppendPulse>());
}

TEST(Latches, a_lost_record_waits_for_a_person) {
  History history;
  history.latches = {"record"};
  Bench bench{Bench::usual(), history};
  bench.run(3h);
  EXPECT_TRUE(bench.held_for("record"));
  EXPECT_EQ(bench.raised("held-record"), 1U);
  EXPECT_EQ(bench.count<AppendPulse>(), 0U);
  EXPECT_EQ(bench.command(Release{"record"}).verdict, Answer::Verdict::accepted);
  EXPECT_TRUE(bench.until<AppendPulse>());
}

// It could not be written down, and would be back at the next start.
TEST(Latches, are_not_released_while_the_ledger_cannot_be_written) {
  History history;
  history.latches = {"record", "from-the-future"};
  Bench bench{Bench::usual(), history};
  bench.run(1min);
  bench.see(LedgerFault{"disk full"});
  EXPECT_EQ(bench.command(Release{"record"}).verdict, Answer::Verdict::refused);
  EXPECT_EQ(bench.command(Release{"from-the-future"}).verdict, Answer::Verdict::refused);
  bench.see(LedgerSound{});
  EXPECT_EQ(bench.command(Release{"record"}).verdict, Answer::Verdict::accepted);
}

TEST(Latches, the_second_ceiling_is_stored_once) {
  Bench bench;
  bench.run(10min);
  bench.ph = 8.62;
  bench.run(10min);
  ASSERT_EQ(bench.count<StoreLatch>(), 1U);
  EXPECT_EQ(bench.newest<StoreLatch>()->code, "ph-second-ceiling");
  EXPECT_EQ(bench.newest<StoreLatch>()->to, StoreLatch::To::latched);
  EXPECT_EQ(bench.raised("held-ph-second-ceiling"), 1U);
}

TEST(Silence, reaches_a_person_after_6_12_24_and_48_hours_and_says_why) {
  Bench bench;
  bench.samples = false;
  const Instant start = bench.now.mono;
  std::vector<Duration> at;
  for (std::size_t seen = 0; bench.now.mono < start + 60h;) {
    bench.run(20min);
    if (bench.raised("dosing-stopped") > seen) {
      seen = bench.raised("dosing-stopped");
      at.push_back(bench.now.mono - start);
    }
  }
  EXPECT_EQ(at, (std::vector<Duration>{6h, 12h, 24h, 48h}));
  const Event last = bench.newest_event("dosing-stopped");
  EXPECT_EQ(last.severity, Severity::alert);
  EXPECT_NE(last.sentence.find("48 h"), std::string::npos) << last.sentence;
  EXPECT_NE(last.sentence.find("pH probe"), std::string::npos) << last.sentence;
}

/// The newest dose ended at this observed uptime; the station starts at 1100 h of it.
Duration silent_until_told(Duration newest_dose) {
  History history;
  history.lifetime_before_boot = 1000h;
  history.newest_given = dosing::Stamp{newest_dose, WallTime{std::chrono::hours{1}}};
  Bench bench{Bench::usual(), history};
  bench.samples = false;
  const Instant start = bench.now.mono;
  while (bench.raised("dosing-stopped") == 0 && bench.now.mono < start + 8h) {
    bench.run(1min);
  }
  return bench.now.mono - start;
}

// Whatever the wall clock says, and however often it restarts.
TEST(Silence, is_counted_over_restarts) {
  EXPECT_EQ(silent_until_told(1096h), 2h);
  EXPECT_EQ(silent_until_told(1100h), 6h);
}

TEST(Silence, after_a_dose_of_the_future_begins_now) { EXPECT_EQ(silent_until_told(1200h), 6h); }

// After a long time without power there is one alert to tell, not one for each step of patience.
TEST(Silence, of_days_before_the_start_is_told_once) {
  History history;
  history.newest_given = dosing::Stamp{50h, WallTime{std::chrono::hours{1}}};
  Bench bench{Bench::usual(), history};
  bench.samples = false;
  bench.run(1min);
  ASSERT_EQ(bench.raised("dosing-stopped"), 1U);
  EXPECT_NE(bench.newest_event("dosing-stopped").sentence.find("48 h"), std::string::npos);
}

TEST(Silence, ends_with_an_event_when_dosing_goes_on) {
  Bench bench;
  bench.samples = false;
  bench.run(7h);
  EXPECT_EQ(bench.raised("dosing-stopped"), 1U);
  bench.samples = true;
  bench.run(4h);
  EXPECT_EQ(bench.raised("dosing-resumed"), 1U);
  EXPECT_EQ(bench.raised("dosing-stopped"), 1U);
}

TEST(Silence, of_a_plan_without_pulses_is_no_news) {
  Settings settings = Bench::usual();
  settings.plan.day_volume = Millilitres{0.0};
  Bench bench{settings};
  bench.run(7h);
  EXPECT_EQ(bench.raised("dosing-stopped"), 0U);
}

TEST(Events, come_once_for_each_change) {
  Bench bench;
  bench.run(10min);
  const std::size_t before = bench.count<Raise>();
  bench.samples = false;
  bench.run(30min);
  EXPECT_EQ(bench.raised("held-ph-stale"), 1U);
  EXPECT_EQ(bench.raised("held-temperature-stale"), 1U);
  EXPECT_EQ(bench.raised("long-ph-stale"), 1U);
  EXPECT_EQ(bench.count<Raise>(), before + 5)
      << "two held, and both told to a person; an unknown climb is part of a bad probe";
  bench.samples = true;
  bench.run(30min - 20s);
  EXPECT_EQ(bench.raised("cleared-ph-stale"), 1U);
  EXPECT_EQ(bench.count<Raise>(), before + 8) << "two cleared as well, and the settling is over";
}

TEST(Events, a_hold_keeps_the_time_since_when_it_stands) {
  Bench bench;
  bench.run(10min);
  bench.command(Pause{5h});
  bench.second();
  const WallTime since = bench.now.wall;
  bench.samples = false;
  bench.run(1min);
  for (const Status::Held& held : bench.core.status(bench.now).holds) {
    if (held.code == "paused") {
      EXPECT_EQ(held.since, since);
      return;
    }
  }
  FAIL() << "not paused";
}

TEST(Station, a_ceiling_trips_by_one_raw_value_and_clears_only_below_resume) {
  Bench bench;
  bench.run(10min);
  bench.ph = 8.41;
  bench.run(1h);
  EXPECT_FALSE(bench.held_for("ph-ceiling"));
  bench.see(ProbeSample{rules::Role::ph, 8.46});
  bench.second();
  EXPECT_TRUE(bench.held_for("ph-ceiling"));
  bench.run(10min);
  EXPECT_TRUE(bench.held_for("ph-ceiling"));
  bench.ph = 8.30;
  bench.run(10min);
  EXPECT_FALSE(bench.held_for("ph-ceiling"));
}

TEST(Station, wall_clock_steps_change_no_decision) {
  Bench steady;
  Bench stepped;
  for (int i = 0; i < 6 * 3600; ++i) {
    steady.second();
    stepped.second();
    if (i % 1801 == 0) {
      stepped.now.wall += i % 2 == 0 ? 9000h : -20000h;
    }
    ASSERT_EQ(steady.count<AppendPulse>(), stepped.count<AppendPulse>()) << "second " << i;
    ASSERT_EQ(steady.phase(), stepped.phase()) << "second " << i;
  }
  EXPECT_GT(steady.count<AppendPulse>(), 3U);
}

// As the wall clock passed their stamps again, old doses counted as fresh for hours.
TEST(Station, a_wall_clock_set_back_by_hours_holds_no_healthy_dosing) {
  Bench steady;
  Bench stepped;
  steady.run(26h);
  stepped.run(26h);
  stepped.now.wall -= 6h;
  for (int hour = 0; hour < 12; ++hour) {
    steady.run(1h);
    stepped.run(1h);
    EXPECT_EQ(steady.count<AppendPulse>(), stepped.count<AppendPulse>()) << "hour " << hour;
  }
}

}  // namespace
}  // namespace limegate::station
