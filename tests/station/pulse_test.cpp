// One pulse from the decision to its closed row, and everything that may come between.

#include <cmath>

#include <gtest/gtest.h>

#include "station/bench.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using Command = Bench::Command;
using Result = Bench::Result;
using Phase = PumpDuty::Phase;

constexpr rules::Role kPh = rules::Role::ph;

class Pulse : public testing::Test {
 protected:
  Bench bench;

  /// Up to the row being written; the ledger and the pump are the test's from here on.
  std::int64_t to_append() {
    bench.ledger_answers = false;
    const auto append = bench.until<AppendPulse>();
    EXPECT_TRUE(append);
    bench.pump_answers = false;
    return append ? append->pulse.id : -1;
  }
  std::int64_t to_run() {
    const std::int64_t id = to_append();
    bench.see(PulseDurable{id});
    EXPECT_EQ(bench.phase(), Phase::reserved);
    bench.second();
    EXPECT_EQ(bench.phase(), Phase::sent);
    return id;
  }
  std::int64_t to_running() {
    const std::int64_t id = to_run();
    bench.pump(Command::run, Result::on);
    EXPECT_EQ(bench.phase(), Phase::running);
    return id;
  }
  [[nodiscard]] double given() const { return bench.core.status(bench.now).given_hour.count(); }
  void expect_closed(Fate fate, double counted) const {
    const auto closed = bench.newest<ClosePulse>();
    ASSERT_TRUE(closed);
    EXPECT_EQ(closed->fate, fate);
    EXPECT_NEAR(closed->counted.count(), counted, 1e-6);
    EXPECT_EQ(bench.phase(), Phase::resting);
    EXPECT_NEAR(given(), counted, 1e-6);
  }
};

TEST_F(Pulse, comes_first_at_the_middle_of_the_first_slot_and_is_counted_before_it_runs) {
  const Instant start = bench.now.mono;
  to_append();
  // Off confirmed in the first second; settle 60 min; a slot of 22.5 min, due at its middle.
  EXPECT_EQ(bench.now.mono - start, 1s + 60min + 11min + 15s);
  EXPECT_EQ(bench.count<RunEffect>(), 0U);
  EXPECT_NEAR(given(), 30.0, 1e-9);
  const auto append = bench.newest<AppendPulse>();
  EXPECT_NEAR(append->pulse.volume.count(), 30.0, 1e-9);
  EXPECT_EQ(append->pulse.duration, 45s);
  EXPECT_GE(append->pulse.end.lifetime, append->pulse.reserved.lifetime + 45s + 2s);
}

TEST_F(Pulse, runs_only_at_a_step_after_its_row_is_durable) {
  const std::int64_t id = to_append();
  bench.second();
  EXPECT_EQ(bench.count<RunEffect>(), 0U) << "the row is not durable yet";
  const Effects at_once = bench.see(PulseDurable{id});
  EXPECT_TRUE(at_once.empty());
  EXPECT_EQ(bench.count<RunEffect>(), 0U);
  bench.second();
  EXPECT_EQ(bench.count<RunEffect>(), 1U);
}

TEST_F(Pulse, expires_two_seconds_after_its_row_is_durable) {
  const std::int64_t id = to_append();
  bench.see(PulseDurable{id});
  bench.now.mono += 1s;
  bench.second();
  EXPECT_EQ(bench.count<RunEffect>(), 0U);
  expect_closed(Fate::not_given, 0.0);
}

TEST_F(Pulse, the_run_carries_its_end_and_its_expiry) {
  const std::int64_t id = to_append();
  bench.see(PulseDurable{id});
  bench.second();
  const auto run = bench.newest<RunEffect>();
  ASSERT_TRUE(run);
  EXPECT_EQ(run->id, id);
  EXPECT_EQ(run->role, rules::OutletRole::pump);
  EXPECT_EQ(run->duration, 45s);
  EXPECT_EQ(run->send_before, bench.now.mono + 5s + 2s) << "the guard's record, the wire";
}

TEST_F(Pulse, a_durable_row_of_another_id_starts_nothing) {
  const std::int64_t id = to_append();
  bench.see(PulseDurable{id + 1});
  bench.see(PulseDurable{id - 1});
  bench.second();
  EXPECT_EQ(bench.count<RunEffect>(), 0U);
  EXPECT_EQ(bench.phase(), Phase::reserving);
}

TEST_F(Pulse, a_row_that_is_never_durable_is_never_run_and_counts) {
  to_append();
  bench.run(10min);
  EXPECT_EQ(bench.count<RunEffect>(), 0U);
  EXPECT_NEAR(given(), 30.0, 1e-9);
}

TEST_F(Pulse, is_cancelled_by_a_raw_ceiling_while_its_row_is_written) {
  const std::int64_t id = to_append();
  bench.see(ProbeSample{kPh, 8.45});
  bench.see(PulseDurable{id});
  bench.second();
  EXPECT_EQ(bench.count<RunEffect>(), 0U);
  expect_closed(Fate::not_given, 0.0);
}

TEST_F(Pulse, is_cancelled_by_a_pause_between_row_and_step) {
  const std::int64_t id = to_append();
  bench.see(PulseDurable{id});
  bench.command(Pause{1h});
  bench.command(Resume{});
  bench.second();
  EXPECT_EQ(bench.count<RunEffect>(), 0U) << "what was stopped once does not begin again";
  expect_closed(Fate::not_given, 0.0);
}

TEST_F(Pulse, ends_at_once_in_observe_when_one_raw_value_reaches_the_ceiling) {
  to_running();
  bench.run(9s);
  const Effects effects = bench.see(ProbeSample{kPh, 8.45});
  ASSERT_FALSE(effects.empty());
  EXPECT_TRUE(std::holds_alternative<SwitchOff>(effects.front()));
  EXPECT_EQ(bench.phase(), Phase::ending);
  EXPECT_NEAR(given(), 30.0, 1e-9) << "nothing is confirmed yet";
}

TEST_F(Pulse, a_raw_value_below_the_ceiling_does_not_end_it_in_observe) {
  to_running();
  (void)bench.see(ProbeSample{kPh, 8.449});
  EXPECT_EQ(bench.phase(), Phase::running);
}

TEST_F(Pulse, an_implausible_raw_value_ends_it_at_once) {
  to_running();
  (void)bench.see(ProbeSample{kPh, 9.21});
  EXPECT_EQ(bench.phase(), Phase::ending);
}

TEST_F(Pulse, a_value_that_is_not_a_number_ends_it_at_once) {
  to_running();
  (void)bench.see(ProbeSample{kPh, std::nan("")});
  EXPECT_EQ(bench.phase(), Phase::ending);
}

TEST_F(Pulse, confirmed_off_early_counts_what_could_flow_and_not_less) {
  to_running();  // the run went out now
  bench.run(9s);
  bench.command(Pause{1h});
  bench.pump(Command::off, Result::off);
  expect_closed(Fate::cut_short, 40.0 * (9 + 1) / 60.0);  // 9 s and one of grace at 40 mL/min
}

TEST_F(Pulse, confirmed_off_just_before_its_end_never_counts_more_than_the_pulse) {
  to_running();
  bench.run(44s);
  bench.now.mono += 500ms;  // with the second of grace 45.5 s
  bench.command(Pause{1h});
  bench.pump(Command::off, Result::off);
  expect_closed(Fate::cut_short, 30.0);
}

TEST_F(Pulse, an_off_before_the_outcome_of_the_run_is_known_proves_nothing) {
  to_run();
  bench.command(Pause{1h});
  EXPECT_EQ(bench.phase(), Phase::ending);
  bench.pump(Command::off, Result::off);
  EXPECT_EQ(bench.phase(), Phase::ending);
  const std::size_t offs = bench.count<SwitchOff>();
  bench.pump(Command::run, Result::on);
  bench.second();
  EXPECT_EQ(bench.count<SwitchOff>(), offs + 1) << "off is sent again";
  bench.pump(Command::off, Result::off);
  EXPECT_EQ(bench.phase(), Phase::resting);
}

TEST_F(Pulse, an_unknown_outcome_counts_in_full_and_is_never_sent_again) {
  to_run();
  bench.pump(Command::run, Result::unknown);
  EXPECT_EQ(bench.phase(), Phase::ending);
  EXPECT_TRUE(bench.newest<SwitchOff>());
  bench.second();
  EXPECT_TRUE(bench.held_for("pump-unconfirmed"));
  bench.pump(Command::off, Result::off);
  expect_closed(Fate::given, 30.0);
  bench.run(5min);
  EXPECT_EQ(bench.count<RunEffect>(), 1U);
}

TEST_F(Pulse, a_refused_run_is_closed_as_not_given) {
  to_run();
  bench.pump(Command::run, Result::refused);
  expect_closed(Fate::not_given, 0.0);
  EXPECT_EQ(bench.raised("outlet-refused"), 1U);
  bench.second();
  EXPECT_TRUE(bench.held_for("pump-unconfirmed")) << "only a look confirms that it rests";
}

TEST_F(Pulse, a_run_refused_while_it_is_being_stopped_is_not_given) {
  to_run();
  bench.command(Pause{1h});
  bench.pump(Command::run, Result::refused);
  bench.pump(Command::off, Result::off);
  bench.second();
  bench.pump(Command::off, Result::off);
  expect_closed(Fate::not_given, 0.0);
}

TEST_F(Pulse, ends_by_the_boards_timer_and_counts_in_full) {
  to_running();
  bench.run(45s);
  EXPECT_EQ(bench.phase(), Phase::running);
  bench.pump(Command::read_back, Result::off);
  expect_closed(Fate::given, 30.0);
  EXPECT_FALSE(bench.held_for("pump-timer-failed"));
}

TEST_F(Pulse, a_look_that_says_off_before_its_end_does_not_close_it) {
  to_running();
  bench.run(20s);
  bench.pump(Command::read_back, Result::off);
  EXPECT_EQ(bench.phase(), Phase::running);
  EXPECT_NEAR(given(), 30.0, 1e-9);
}

TEST_F(Pulse, a_stale_look_does_not_close_a_pulse_that_is_being_ended) {
  to_running();
  bench.run(9s);
  bench.command(Pause{1h});
  // This look was taken before the run was carried out: the pump runs on until off is answered.
  bench.pump(Command::read_back, Result::off);
  EXPECT_EQ(bench.phase(), Phase::ending);
  bench.run(10s);
  bench.pump(Command::off, Result::off);
  expect_closed(Fate::cut_short, 40.0 * (19 + 1) / 60.0);
}

TEST_F(Pulse, a_stale_look_does_not_confirm_an_outlet_whose_off_is_not_answered) {
  to_run();
  bench.pump(Command::run, Result::unknown);
  bench.pump(Command::read_back, Result::off);
  EXPECT_EQ(bench.phase(), Phase::ending);
  bench.second();
  EXPECT_TRUE(bench.held_for("pump-unconfirmed"));
}

TEST_F(Pulse, seen_on_past_its_end_counts_what_could_flow_and_latches_the_timer) {
  to_running();
  bench.run(46s);
  bench.pump(Command::read_back, Result::on);
  bench.second();
  EXPECT_FALSE(bench.held_for("pump-timer-failed")) << "a busy bus explains one second";
  bench.pump(Command::read_back, Result::on);
  bench.second();
  EXPECT_TRUE(bench.held_for("pump-timer-failed"));
  ASSERT_TRUE(bench.newest<StoreLatch>());
  EXPECT_EQ(bench.newest<StoreLatch>()->code, "pump-timer-failed");
  bench.run(12s);
  bench.pump(Command::off, Result::off);
  expect_closed(Fate::given, 40.0 * (60 + 1) / 60.0);
}

TEST_F(Pulse, is_switched_off_when_nothing_is_heard_after_its_end) {
  to_running();
  bench.run(47s);
  const std::size_t offs = bench.count<SwitchOff>();
  bench.second();
  EXPECT_EQ(bench.phase(), Phase::ending);
  EXPECT_EQ(bench.count<SwitchOff>(), offs + 1);
  bench.pump(Command::off, Result::off);
  expect_closed(Fate::given, 30.0);
}

TEST_F(Pulse, any_hold_that_ends_pulses_ends_it_at_the_next_step) {
  to_running();
  bench.samples = false;
  bench.run(2s);
  EXPECT_EQ(bench.phase(), Phase::running) << "while it runs readings of 2 s are allowed";
  bench.second();
  EXPECT_EQ(bench.phase(), Phase::ending);
}

TEST_F(Pulse, a_stirrer_that_reads_on_ends_it_in_observe) {
  to_running();
  bench.stirrer_answers = false;
  bench.stirrer(Command::read_back, Result::on);
  EXPECT_EQ(bench.phase(), Phase::ending);
}

TEST_F(Pulse, a_ledger_fault_while_its_row_is_written_sends_nothing_and_counts) {
  const std::int64_t id = to_append();
  bench.see(LedgerFault{"disk full"});
  EXPECT_EQ(bench.phase(), Phase::resting);
  bench.see(PulseDurable{id});  // late: it may be on the disk after all
  bench.run(5s);
  EXPECT_EQ(bench.count<RunEffect>(), 0U);
  EXPECT_TRUE(bench.held_for("ledger-not-writable"));
  EXPECT_NEAR(given(), 30.0, 1e-9);
  bench.see(LedgerSound{});
  bench.second();
  EXPECT_FALSE(bench.held_for("ledger-not-writable"));
}

TEST_F(Pulse, a_ledger_fault_between_row_and_run_sends_nothing) {
  const std::int64_t id = to_append();
  bench.see(PulseDurable{id});
  bench.see(LedgerFault{"disk full"});
  bench.see(LedgerSound{});
  bench.second();
  EXPECT_EQ(bench.count<RunEffect>(), 0U);
  expect_closed(Fate::not_given, 0.0);
}

TEST_F(Pulse, a_ledger_fault_ends_what_was_sent) {
  to_run();
  bench.see(LedgerFault{"input/output error"});
  EXPECT_EQ(bench.phase(), Phase::ending);
}

TEST_F(Pulse, a_ledger_fault_ends_what_runs) {
  to_running();
  const std::size_t offs = bench.count<SwitchOff>();
  bench.see(LedgerFault{"input/output error"});
  EXPECT_EQ(bench.phase(), Phase::ending);
  EXPECT_EQ(bench.count<SwitchOff>(), offs + 1);
}

TEST_F(Pulse, the_next_pulse_has_the_next_id_and_the_same_slot_is_not_used_twice) {
  bench.ledger_answers = bench.pump_answers = true;
  const auto first = bench.until<AppendPulse>();
  const Instant at = bench.now.mono;
  const auto second = bench.until<AppendPulse>();
  ASSERT_TRUE(first && second);
  EXPECT_EQ(second->pulse.id, first->pulse.id + 1);
  EXPECT_EQ(bench.now.mono - at, 22min + 30s);
  EXPECT_FALSE(bench.ran_in_observe);
}

}  // namespace
}  // namespace limegate::station
