// An outlet that is on although nobody commanded it, and a pump that goes off late: what may have
// flowed counts, and a person is told.

#include <gtest/gtest.h>

#include "station/bench.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using Command = Bench::Command;
using Result = Bench::Result;

constexpr double kRate = 40.0;  ///< mL/min, the bench's

double counted_in_a_day(const Bench& bench) {
  return bench.core.status(bench.now).given_day.count();
}

/// Somebody switches the pump on for so long.
void switch_pump_on(Bench& bench, Duration lasting) { bench.pump_until = bench.now.mono + lasting; }

TEST(FoundOn, a_pump_that_somebody_switched_counts_since_it_was_last_off_and_is_told_at_once) {
  Bench bench;
  bench.run(30s);
  switch_pump_on(bench, 1h);
  const auto append = bench.until<AppendPulse>(20s);
  ASSERT_TRUE(append);
  EXPECT_EQ(append->pulse.duration, Duration::zero()) << "nobody commanded it";
  // Looked at each ten seconds: it was seen off ten seconds ago at the most.
  EXPECT_GT(append->pulse.volume.count(), 0.0);
  EXPECT_LE(append->pulse.volume.count(), kRate * 11.0 / 60.0);
  EXPECT_EQ(bench.raised("pump-found-on"), 1U);
  EXPECT_EQ(bench.newest_event("pump-found-on").severity, Severity::alert);
  ASSERT_TRUE(bench.newest<ClosePulse>()) << "it was switched off, and that was confirmed";
  EXPECT_EQ(bench.newest<ClosePulse>()->fate, Fate::found);
  EXPECT_NEAR(counted_in_a_day(bench), append->pulse.volume.count(), 0.1);
  bench.second();
  EXPECT_FALSE(bench.held_for("pump-found-on")) << "once may be a hand at the relay";
}

TEST(FoundOn, the_second_time_within_a_day_waits_for_a_person) {
  Bench bench;
  bench.run(30s);
  switch_pump_on(bench, 1h);
  bench.run(1min);
  bench.run(5h);
  switch_pump_on(bench, 1h);
  bench.run(1min);
  EXPECT_EQ(bench.raised("pump-found-on"), 2U);
  EXPECT_TRUE(bench.held_for("pump-found-on"));
  EXPECT_EQ(bench.newest<StoreLatch>()->code, "pump-found-on");
  EXPECT_EQ(bench.command(Release{"pump-found-on"}).verdict, Answer::Verdict::accepted);
  bench.second();
  EXPECT_FALSE(bench.held_for("pump-found-on"));
}

TEST(FoundOn, a_day_and_more_apart_is_no_second_time) {
  Bench bench;
  bench.run(30s);
  switch_pump_on(bench, 1h);
  bench.run(24h + 1min);
  switch_pump_on(bench, 1h);
  bench.run(1min);
  EXPECT_EQ(bench.raised("pump-found-on"), 2U);
  EXPECT_FALSE(bench.held_for("pump-found-on"));
}

TEST(FoundOn, a_latch_is_not_released_while_the_pump_is_not_confirmed_off) {
  History history;
  history.latches = {"pump-found-on"};
  Bench bench{Bench::usual(), history};
  bench.pump_answers = false;
  bench.run(5s);
  EXPECT_TRUE(bench.held_for("pump-found-on"));
  EXPECT_EQ(bench.command(Release{"pump-found-on"}).verdict, Answer::Verdict::refused);
}

TEST(FoundOn, the_first_time_of_before_a_restart_counts) {
  History history;
  history.pump_found_on = dosing::Stamp{90h, WallTime{499990h}};
  Bench bench{Bench::usual(), history};
  bench.run(30s);
  switch_pump_on(bench, 1h);
  bench.run(1min);
  EXPECT_TRUE(bench.held_for("pump-found-on"));
}

TEST(FoundOn, one_look_alone_that_says_on_is_looked_at_again_and_counts_nothing) {
  Bench bench;
  bench.run(30s);
  const double before = counted_in_a_day(bench);
  bench.pump_answers = false;
  bench.pump(Command::read_back, Result::on);
  EXPECT_EQ(bench.count<AppendPulse>(), 0U);
  bench.pump_answers = true;
  bench.pump(Command::read_back, Result::off);
  bench.run(1min);
  EXPECT_EQ(counted_in_a_day(bench), before);
  EXPECT_EQ(bench.raised("pump-found-on"), 0U);
}

// Campaigns with answers that are seconds late found it: the off went out first, and the second
// look was dropped.
TEST(FoundOn, a_second_look_that_comes_after_the_off_was_sent_still_says_on) {
  Bench bench;
  bench.run(30s);
  bench.pump_answers = false;
  bench.pump(Command::read_back, Result::on);
  bench.run(3s);
  bench.pump(Command::read_back, Result::on);
  bench.second();
  EXPECT_EQ(bench.raised("pump-found-on"), 1U);
  EXPECT_EQ(bench.count<AppendPulse>(), 1U);
}

TEST(FoundOn, one_look_and_an_off_that_is_confirmed_soon_is_no_find) {
  Bench bench;
  bench.run(30s);
  bench.pump_answers = false;
  bench.pump(Command::read_back, Result::on);
  bench.run(2s);
  EXPECT_EQ(bench.count<SwitchOff>(), 3U) << "two at the start, and now";
  bench.pump(Command::off, Result::off);
  EXPECT_EQ(bench.raised("pump-found-on"), 0U);
}

TEST(FoundOn, one_look_and_then_a_long_silence_counts_as_on_all_the_while) {
  Bench bench;
  bench.run(30s);
  bench.pump_answers = false;
  bench.pump(Command::read_back, Result::on);
  bench.run(10min);
  bench.pump(Command::off, Result::off);
  EXPECT_EQ(bench.raised("pump-found-on"), 1U);
  EXPECT_NEAR(counted_in_a_day(bench), 10.0 * kRate, 8.0);
}

// After an hour of a silent bus it may have run for that hour.
TEST(FoundOn, what_nobody_could_see_counts_from_the_last_confirmed_off) {
  Bench bench;
  bench.run(30s);
  bench.pump_answers = false;
  bench.run(1h);
  bench.pump(Command::read_back, Result::unknown);  // the look that was under way
  bench.pump_answers = true;
  switch_pump_on(bench, 1h);
  bench.run(1min);
  EXPECT_NEAR(counted_in_a_day(bench), 60.0 * kRate, 30.0);
  EXPECT_EQ(bench.raised("pump-found-on"), 1U);
}

TEST(FoundOn, it_goes_on_growing_until_it_is_confirmed_off) {
  Bench bench;
  bench.run(30s);
  bench.pump_answers = false;
  bench.pump(Command::read_back, Result::on);
  bench.pump(Command::read_back, Result::on);
  for (int i = 0; i < 600; ++i) {
    bench.second();
    bench.pump(Command::off, Result::unknown);
  }
  EXPECT_NEAR(counted_in_a_day(bench), 10.0 * kRate, 15.0);
  bench.pump(Command::off, Result::off);
  ASSERT_TRUE(bench.newest<ClosePulse>());
  EXPECT_NEAR(bench.newest<ClosePulse>()->counted.count(), 10.0 * kRate, 10.0);
  EXPECT_EQ(bench.raised("pump-found-on"), 1U);
}

TEST(FoundOn, at_a_start_it_counts_since_the_newest_row_ended) {
  History history;
  history.newest_pulse_id = 7;
  history.newest_end = 99h + 50min;
  Bench bench{Bench::usual(), history};
  switch_pump_on(bench, 1h);
  bench.run(10s);
  EXPECT_EQ(bench.raised("pump-found-on"), 1U);
  EXPECT_EQ(bench.newest<AppendPulse>()->pulse.id, 8);
  EXPECT_NEAR(counted_in_a_day(bench), 10.0 * kRate, 2.0);
}

// A pulse that the board still runs after a crash is no stranger's.
TEST(FoundOn, a_pulse_that_its_board_has_yet_to_end_is_not_found_on) {
  History history;
  history.newest_pulse_id = 7;
  history.open_pulse = PulseRecord{7, Millilitres{30.0}, 45s, {100h - 10s, {}}, {100h + 38s, {}}};
  Bench bench{Bench::usual(), history};
  switch_pump_on(bench, 35s);
  bench.run(20s);
  EXPECT_EQ(bench.raised("pump-found-on"), 0U);
  EXPECT_EQ(bench.count<AppendPulse>(), 0U);
}

TEST(FoundOn, a_switched_stirrer_counts_as_stirred_and_the_second_time_waits_for_a_person) {
  Bench bench;
  bench.run(70min);
  ASSERT_FALSE(bench.held_for("settling"));
  bench.stirrer_until = bench.now.mono + 1h;
  const auto append = bench.until<AppendStir>(20s);
  ASSERT_TRUE(append);
  EXPECT_EQ(append->stir.duration, Duration::zero());
  EXPECT_EQ(bench.raised("stirrer-found-on"), 1U);
  bench.run(5s);
  EXPECT_TRUE(bench.newest<CloseStir>());
  EXPECT_TRUE(bench.held_for("settling"));
  bench.run(70min);
  EXPECT_FALSE(bench.held_for("stirrer-found-on"));
  bench.stirrer_until = bench.now.mono + 1h;
  bench.run(30s);
  EXPECT_TRUE(bench.held_for("stirrer-found-on"));
  EXPECT_EQ(bench.command(Release{"stirrer-found-on"}).verdict, Answer::Verdict::accepted);
}

TEST(FoundOn, a_stirrer_that_starts_in_mid_pulse_ends_it_at_the_next_sample_of_ph) {
  Bench bench;
  while (bench.phase() != PumpDuty::Phase::running) {
    bench.second();
  }
  bench.stirrer_until = bench.now.mono + 1h;
  bench.see(ProbeSample{rules::Role::ph, 8.2});
  EXPECT_EQ(bench.now.mono < bench.pump_until, false) << "off at once";
}

class Untimed : public testing::Test {
 protected:
  static Settings settings() {
    Settings settings = Bench::usual();
    settings.pump_ends = RunEnds::by_us;
    return settings;
  }
  void run_until_a_pulse_runs() {
    while (bench_.phase() != PumpDuty::Phase::running) {
      bench_.second();
    }
    sent_ = bench_.now.mono;
    bench_.pump_answers = false;
  }
  /// Seconds in which it is heard to run.
  void hear(int seconds) {
    for (int i = 0; i < seconds; ++i) {
      bench_.second();
      say(Command::read_back, Result::on);
    }
  }
  void say(Command command, Result result, std::optional<Instant> off_since = {}) {
    bench_.see(OutletReport{rules::OutletRole::pump, command, result, "", off_since});
  }
  Bench bench_{settings()};
  Instant sent_{};
};

TEST_F(Untimed, a_pulse_leaves_time_for_the_wire_and_counts_as_planned_if_it_ends_in_time) {
  run_until_a_pulse_runs();
  EXPECT_EQ(bench_.newest<RunEffect>()->duration, 45s - 300ms);
  hear(44);
  bench_.second();
  say(Command::read_back, Result::off, sent_ + 44s + 900ms);
  ASSERT_TRUE(bench_.newest<ClosePulse>());
  EXPECT_EQ(bench_.newest<ClosePulse>()->fate, Fate::cut_short);
  EXPECT_NEAR(bench_.newest<ClosePulse>()->counted.count(), kRate * 44.9 / 60.0, 0.01);
}

TEST_F(Untimed, one_that_ends_a_little_late_counts_in_full_as_it_was) {
  run_until_a_pulse_runs();
  hear(45);
  bench_.second();
  say(Command::read_back, Result::off, sent_ + 45s + 600ms);
  ASSERT_TRUE(bench_.newest<ClosePulse>());
  EXPECT_EQ(bench_.newest<ClosePulse>()->fate, Fate::given);
  EXPECT_NEAR(bench_.newest<ClosePulse>()->counted.count(), kRate * 45.6 / 60.0, 0.01);
  EXPECT_EQ(bench_.raised("pump-off-late"), 0U) << "less than two seconds are no news";
}

TEST_F(Untimed, one_whose_off_is_not_confirmed_grows_and_a_person_is_told_once) {
  run_until_a_pulse_runs();
  for (int i = 0; i < 45 + 120; ++i) {
    bench_.second();
    say(bench_.phase() == PumpDuty::Phase::running ? Command::read_back : Command::off,
        Result::unknown);
  }
  EXPECT_EQ(bench_.raised("pump-off-late"), 1U);
  EXPECT_NEAR(counted_in_a_day(bench_), kRate * 165.0 / 60.0, 10.0);
  say(Command::off, Result::off);
  EXPECT_NEAR(bench_.newest<ClosePulse>()->counted.count(), kRate * 165.0 / 60.0, 1.0);
  EXPECT_EQ(bench_.raised("pump-off-confirmed"), 1U);
  EXPECT_EQ(bench_.newest_event("pump-off-confirmed").ends, "pump-off-late");
}

TEST_F(Untimed, a_board_that_falls_silent_in_mid_pulse_is_switched_off) {
  run_until_a_pulse_runs();
  bench_.run(2s);
  EXPECT_EQ(bench_.phase(), PumpDuty::Phase::running);
  bench_.run(3s);
  EXPECT_EQ(bench_.phase(), PumpDuty::Phase::ending);
}

TEST_F(Untimed, is_never_blamed_for_a_timer_of_its_own) {
  run_until_a_pulse_runs();
  for (int i = 0; i < 60; ++i) {
    bench_.second();
    say(bench_.phase() == PumpDuty::Phase::running ? Command::read_back : Command::off, Result::on);
  }
  EXPECT_FALSE(bench_.held_for("pump-timer-failed"));
  EXPECT_TRUE(bench_.held_for("pump-stuck-on"));
}

History died_in_mid_pulse() {
  History history;
  history.newest_pulse_id = 7;
  history.open_pulse = PulseRecord{
      7, Millilitres{10.0}, 15s, {100h - 1min, WallTime{500000h - 1min}}, {100h - 42s, {}}};
  history.doses.push_back({7, history.open_pulse->end, Millilitres{10.0}});
  return history;
}

// Killed in mid pulse and started a minute later with the pump still on.
TEST(UntimedRestart, the_dose_of_before_it_grows_until_the_start_has_confirmed_off) {
  Settings settings = Bench::usual();
  settings.pump_ends = RunEnds::by_us;
  Bench bench{settings, died_in_mid_pulse()};
  switch_pump_on(bench, 1h);
  bench.run(5s);
  ASSERT_TRUE(bench.newest<ClosePulse>());
  EXPECT_EQ(bench.newest<ClosePulse>()->id, 7);
  EXPECT_NEAR(bench.newest<ClosePulse>()->counted.count(), kRate * 61.0 / 60.0, 1.0);
  EXPECT_EQ(bench.raised("pump-off-late"), 1U);
  EXPECT_EQ(bench.raised("pump-found-on"), 0U) << "it was ours";
  EXPECT_NEAR(counted_in_a_day(bench), kRate * 61.0 / 60.0, 1.0);
}

// Found by a campaign: a program that died over each pulse starved the tank without a word, for
// each row that it left ended as given.
TEST(UntimedRestart, nobody_knows_whether_the_dose_of_before_it_was_given) {
  Settings settings = Bench::usual();
  settings.pump_ends = RunEnds::by_us;
  History history = died_in_mid_pulse();
  history.newest_given = dosing::Stamp{99h, WallTime{499999h}};
  Bench bench{settings, history};
  bench.run(5s);
  ASSERT_TRUE(bench.newest<ClosePulse>());
  EXPECT_EQ(bench.newest<ClosePulse>()->fate, Fate::unsure);
  EXPECT_EQ(bench.raised("pulse-unsure"), 1U);
  EXPECT_GT(counted_in_a_day(bench), 1.0) << "it counts for all that";
}

// A machine without a clock of its own comes back at the second of its death.
TEST(UntimedRestart, the_dose_of_before_it_counts_in_full_if_no_time_seems_to_have_passed) {
  Settings settings = Bench::usual();
  settings.pump_ends = RunEnds::by_us;
  History history = died_in_mid_pulse();
  history.open_pulse->reserved = {100h, WallTime{500000h}};
  history.open_pulse->end = {100h + 1min, WallTime{500000h + 1min}};
  const Millilitres volume = history.open_pulse->volume;
  Bench bench{settings, history};
  bench.run(5s);
  ASSERT_TRUE(bench.newest<ClosePulse>());
  EXPECT_GE(bench.newest<ClosePulse>()->counted, volume);
}

TEST(UntimedRestart, an_off_by_another_program_ended_it_before_the_start) {
  Settings settings = Bench::usual();
  settings.pump_ends = RunEnds::by_us;
  History history = died_in_mid_pulse();
  history.pump_switched_off = Instant{100h - 40s};
  Bench bench{settings, history};
  bench.run(5s);
  ASSERT_TRUE(bench.newest<ClosePulse>());
  EXPECT_NEAR(bench.newest<ClosePulse>()->counted.count(), kRate * 20.0 / 60.0, 0.5);
  EXPECT_EQ(bench.raised("pump-off-late"), 0U) << "its end may have been two seconds later";
}

TEST(UntimedRestart, an_off_of_before_the_pulse_says_nothing_of_it) {
  Settings settings = Bench::usual();
  settings.pump_ends = RunEnds::by_us;
  History history = died_in_mid_pulse();
  history.pump_switched_off = Instant{100h - 2min};
  Bench bench{settings, history};
  bench.run(5s);
  EXPECT_NEAR(bench.newest<ClosePulse>()->counted.count(), kRate * 61.0 / 60.0, 2.0);
}

TEST(UntimedRestart, a_wall_clock_that_knows_of_more_time_counts) {
  Settings settings = Bench::usual();
  settings.pump_ends = RunEnds::by_us;
  History history = died_in_mid_pulse();
  history.open_pulse->reserved.wall = WallTime{500000h - 30min};  // the machine was off meanwhile
  Bench bench{settings, history};
  bench.run(5s);
  EXPECT_NEAR(bench.newest<ClosePulse>()->counted.count(), kRate * 30.0, 3.0);
}

TEST(TimedRestart, counts_an_open_row_in_full_and_no_more) {
  Bench bench{Bench::usual(), died_in_mid_pulse()};
  bench.run(1min);
  EXPECT_EQ(counted_in_a_day(bench), 10.0);
  EXPECT_EQ(bench.raised("pump-off-late"), 0U);
}

}  // namespace
}  // namespace limegate::station
