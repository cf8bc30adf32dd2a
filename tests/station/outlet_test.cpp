// Outlets that do not confirm or read on, the stirrer's rhythm, and an observed stirrer.

#include <gtest/gtest.h>

#include "station/bench.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using Command = Bench::Command;
using Result = Bench::Result;
using State = rules::StirrerKnown::State;

State stirrer_of(const Bench& bench) { return bench.core.status(bench.now).stirrer; }

TEST(Outlets, both_are_looked_at_then_switched_off_as_a_start_begins_and_held_until_confirmed) {
  Bench bench;
  bench.pump_answers = bench.stirrer_answers = false;
  bench.second();
  EXPECT_EQ(bench.count<ReadBack>(), 2U) << "or nobody would know that one was left on";
  bench.second();
  EXPECT_EQ(bench.count<SwitchOff>(), 2U) << "no answer is waited for";
  EXPECT_TRUE(bench.held_for("pump-unconfirmed"));
  EXPECT_TRUE(bench.held_for("stirrer-unconfirmed"));
  EXPECT_TRUE(bench.held_for("stirrer-unknown"));
  bench.pump(Command::off, Result::off);
  bench.stirrer(Command::off, Result::off);
  bench.second();
  EXPECT_FALSE(bench.held_for("pump-unconfirmed"));
  EXPECT_FALSE(bench.held_for("stirrer-unconfirmed"));
  EXPECT_TRUE(bench.held_for("settling"));
}

TEST(Outlets, off_is_sent_again_each_second_and_later_every_ten_until_it_is_confirmed) {
  Bench bench;
  bench.stirrer_answers = true;
  bench.pump_answers = false;
  for (int i = 0; i < 200; ++i) {
    bench.second();
    if (bench.count<SwitchOff>() > 0) {
      bench.pump(Command::off, Result::unknown);
    }
  }
  // One of the stirrer; the pump's first ten in ten seconds from the second on, then one in ten.
  EXPECT_EQ(bench.count<SwitchOff>(), 1U + 10U + 18U);
  EXPECT_TRUE(bench.held_for("pump-unconfirmed"));
}

// The first alert may have been seen and answered with a hand on the plug; this one is new.
TEST(Outlets, one_that_reads_on_again_while_it_is_latched_is_told_again) {
  Bench bench;
  bench.pump_answers = false;
  const auto answer_offs = [&](Result result) {
    for (int i = 0; i < 30; ++i) {
      bench.second();
      bench.pump(Command::off, result);
    }
  };
  answer_offs(Result::on);
  EXPECT_EQ(bench.raised("held-pump-stuck-on"), 1U);
  EXPECT_EQ(bench.raised("again-pump-stuck-on"), 0U);
  answer_offs(Result::off);
  EXPECT_EQ(bench.raised("again-pump-stuck-on"), 0U);
  bench.pump(Command::read_back, Result::on);
  answer_offs(Result::on);
  EXPECT_EQ(bench.raised("held-pump-stuck-on"), 1U);
  ASSERT_EQ(bench.raised("again-pump-stuck-on"), 1U);
  EXPECT_EQ(bench.newest_event("again-pump-stuck-on").severity, Severity::alert);
  EXPECT_EQ(bench.newest_event("again-pump-stuck-on").begins, "pump-stuck-on") << "it is renewed";
}

TEST(Outlets, one_that_reads_on_after_three_offs_is_stuck_and_latched) {
  Bench bench;
  bench.pump_answers = false;
  bench.second();
  for (int i = 0; i < 3; ++i) {
    EXPECT_FALSE(bench.held_for("pump-stuck-on"));
    bench.second();
    bench.pump(Command::off, Result::on);
  }
  bench.second();
  EXPECT_TRUE(bench.held_for("pump-stuck-on"));
  ASSERT_TRUE(bench.newest<StoreLatch>());
  EXPECT_EQ(bench.newest<StoreLatch>()->code, "pump-stuck-on");
  bench.pump(Command::off, Result::off);
  bench.run(1min);
  EXPECT_TRUE(bench.held_for("pump-stuck-on")) << "a person must come";
  EXPECT_EQ(bench.count<StoreLatch>(), 1U);
}

TEST(Outlets, a_resting_one_is_looked_at_every_ten_seconds_and_unconfirmed_after_thirty_five) {
  Bench bench;
  bench.second();
  bench.pump_answers = false;
  bench.run(35s);
  EXPECT_EQ(bench.count<ReadBack>(), 6U)
      << "both at the start, then three of the stirrer, one of the pump outstanding";
  EXPECT_FALSE(bench.held_for("pump-unconfirmed"));
  bench.second();
  EXPECT_TRUE(bench.held_for("pump-unconfirmed"));
}

TEST(Outlets, a_resting_pump_that_reads_on_is_switched_off) {
  Bench bench;
  bench.run(5s);
  const std::size_t offs = bench.count<SwitchOff>();
  bench.pump_answers = false;
  bench.pump(Command::read_back, Result::on);
  bench.second();
  EXPECT_EQ(bench.count<SwitchOff>(), offs + 1);
  bench.second();
  EXPECT_TRUE(bench.held_for("pump-unconfirmed"));
}

TEST(Outlets, a_board_that_refuses_every_off_is_no_flood_of_events) {
  Bench bench;
  bench.run(3s);
  bench.pump_answers = false;
  bench.pump(Command::read_back, Result::on);
  for (int i = 0; i < 600; ++i) {
    bench.second();
    bench.pump(Command::off, Result::refused);
  }
  EXPECT_LE(bench.raised("outlet-refused"), 1U);
  EXPECT_EQ(bench.raised("held-pump-unconfirmed"), 2U) << "at the start, and once more";
}

TEST(Stirrer, runs_in_its_rhythm_from_its_row_to_its_closed_row) {
  Bench bench;
  const Instant start = bench.now.mono;
  bench.run(100min);
  bench.ledger_answers = false;
  const std::size_t runs = bench.count<RunEffect>();  // of the pump
  const auto append = bench.until<AppendStir>();
  ASSERT_TRUE(append);
  EXPECT_EQ(bench.now.mono - start, 105min) << "as if one had ended at the start";
  EXPECT_EQ(append->stir.duration, 15min);
  EXPECT_EQ(bench.count<RunEffect>(), runs);
  bench.see(StirDurable{append->stir.id});
  EXPECT_EQ(bench.count<RunEffect>(), runs);
  bench.second();
  ASSERT_EQ(bench.count<RunEffect>(), runs + 1);
  EXPECT_EQ(bench.newest<RunEffect>()->role, rules::OutletRole::stirrer);
  EXPECT_EQ(bench.newest<RunEffect>()->id, append->stir.id);
  EXPECT_EQ(stirrer_of(bench), State::running);
  bench.run(15min - 1s);
  EXPECT_EQ(bench.count<CloseStir>(), 0U);
  bench.run(2s);
  ASSERT_EQ(bench.count<CloseStir>(), 1U);
  EXPECT_EQ(bench.newest<CloseStir>()->id, append->stir.id);
  EXPECT_EQ(stirrer_of(bench), State::resting);
  bench.second();
  EXPECT_TRUE(bench.held_for("settling"));
}

TEST(Stirrer, waits_for_the_pump_and_never_overlaps_a_pulse) {
  Bench bench;
  bench.run(104min);
  bench.pump_answers = false;  // the routine look stays out: the pump is not confirmed for long
  bench.pump(Command::read_back, Result::on);
  bench.run(10min);
  EXPECT_EQ(bench.count<AppendStir>(), 0U);
  bench.pump(Command::off, Result::off);
  bench.second();
  EXPECT_EQ(bench.count<AppendStir>(), 1U);
}

TEST(Stirrer, is_not_run_when_the_row_took_too_long_or_the_ledger_failed) {
  Bench bench;
  bench.run(100min);
  bench.ledger_answers = false;
  const std::size_t runs = bench.count<RunEffect>();  // of the pump
  const auto append = bench.until<AppendStir>();
  ASSERT_TRUE(append);
  bench.run(6s);
  bench.see(StirDurable{append->stir.id});
  bench.second();
  EXPECT_EQ(bench.count<RunEffect>(), runs);
  EXPECT_EQ(bench.count<CloseStir>(), 1U);
  bench.ledger_answers = true;
  ASSERT_TRUE(bench.until<AppendStir>());
  bench.run(115min);
  const std::size_t more = bench.count<RunEffect>();
  bench.ledger_answers = false;
  const auto again = bench.until<AppendStir>();
  ASSERT_TRUE(again);
  bench.see(LedgerFault{"disk full"});
  bench.see(StirDurable{again->stir.id});
  bench.run(5s);
  EXPECT_EQ(bench.count<RunEffect>(), more);
}

TEST(Stirrer, is_not_run_at_the_very_moment_its_row_expires) {
  Bench bench;
  bench.run(100min);
  bench.ledger_answers = false;
  const auto append = bench.until<AppendStir>();
  ASSERT_TRUE(append);
  const std::size_t runs = bench.count<RunEffect>();
  bench.second();
  bench.see(StirDurable{append->stir.id});
  bench.now.mono += 1s;
  bench.second();  // two seconds after the row was durable
  EXPECT_EQ(bench.count<RunEffect>(), runs);
}

TEST(Stirrer, is_not_run_when_the_pump_reads_on_after_its_row) {
  Bench bench;
  bench.run(100min);
  bench.ledger_answers = false;
  const auto append = bench.until<AppendStir>();
  ASSERT_TRUE(append);
  const std::size_t runs = bench.count<RunEffect>();
  bench.see(StirDurable{append->stir.id});
  bench.pump_answers = false;
  bench.pump(Command::read_back, Result::on);
  bench.second();
  EXPECT_EQ(bench.count<RunEffect>(), runs);
}

TEST(Stirrer, is_not_begun_while_the_ledger_is_not_trusted) {
  Bench bench;
  bench.run(100min);
  bench.see(LedgerFault{"disk full"});
  bench.run(20min);
  EXPECT_EQ(bench.count<AppendStir>(), 0U);
  bench.see(LedgerSound{});
  bench.second();
  EXPECT_EQ(bench.count<AppendStir>(), 1U);
}

TEST(Stirrer, an_unknown_outcome_is_running_until_an_off_is_answered) {
  Bench bench;
  bench.run(104min);
  bench.stirrer_answers = false;
  ASSERT_TRUE(bench.until<RunEffect>());
  bench.stirrer(Command::run, Result::unknown);
  EXPECT_EQ(stirrer_of(bench), State::running);
  bench.stirrer(Command::read_back, Result::off);  // taken before the run was carried out
  EXPECT_EQ(stirrer_of(bench), State::running);
  bench.second();
  bench.stirrer(Command::off, Result::off);
  EXPECT_EQ(stirrer_of(bench), State::resting);
  EXPECT_EQ(bench.count<CloseStir>(), 1U);
}

TEST(Stirrer, a_look_that_says_off_before_its_end_does_not_end_it) {
  Bench bench;
  bench.run(104min);
  ASSERT_TRUE(bench.until<AppendStir>());
  bench.second();
  bench.run(5min);
  bench.stirrer(Command::read_back, Result::off);
  EXPECT_EQ(stirrer_of(bench), State::running);
  EXPECT_EQ(bench.count<CloseStir>(), 0U);
}

TEST(Stirrer, one_that_runs_over_is_switched_off) {
  Bench bench;
  bench.run(104min);
  ASSERT_TRUE(bench.until<AppendStir>());
  bench.second();
  bench.stirrer_until += 1h;  // its timer failed
  const std::size_t offs = bench.count<SwitchOff>();
  bench.run(15min + 3s);
  EXPECT_GT(bench.count<SwitchOff>(), offs);
  EXPECT_EQ(bench.count<CloseStir>(), 1U);
}

TEST(Stirrer, switched_by_hand_it_is_unknown_until_off_and_then_settles_anew) {
  Bench bench;
  bench.run(70min);
  EXPECT_FALSE(bench.held_for("settling"));
  bench.stirrer_answers = false;
  bench.stirrer(Command::read_back, Result::on);
  bench.second();
  EXPECT_TRUE(bench.held_for("stirrer-unknown"));
  bench.stirrer_answers = true;
  bench.stirrer(Command::off, Result::off);
  bench.second();
  EXPECT_TRUE(bench.held_for("settling"));
}

TEST(Stirrer, a_stir_of_this_boot_that_ended_is_taken_from_the_ledger) {
  History history;
  const Bench clock;
  history.last_stir = History::LastStir{clock.now.mono - 100min, clock.now.mono - 85min};
  history.newest_stir_id = 7;
  Bench bench{Bench::usual(), history};
  bench.second();
  bench.second();
  EXPECT_FALSE(bench.held_for("settling"));
  EXPECT_FALSE(bench.held_for("stirrer-unknown"));
  const auto append = bench.until<AppendStir>(30min);
  ASSERT_TRUE(append);
  EXPECT_EQ(append->stir.id, 8);
  EXPECT_EQ(bench.now.mono, clock.now.mono + 20min);
}

TEST(Stirrer, a_stir_that_was_open_or_of_another_boot_ended_when_off_is_confirmed) {
  Bench bench;  // the ledger then gives no last stir
  bench.stirrer_answers = false;
  bench.run(10min);
  EXPECT_TRUE(bench.held_for("stirrer-unknown"));
  bench.stirrer(Command::off, Result::off);
  bench.run(60min - 1s);
  EXPECT_TRUE(bench.held_for("settling"));
  bench.second();
  EXPECT_FALSE(bench.held_for("settling"));
}

TEST(OffDue, is_told_of_what_was_switched_on_and_is_not_confirmed_off) {
  Bench bench;
  bench.until<RunEffect>();
  bench.until<AppendPulse>();
  bench.run(3s);
  ASSERT_EQ(bench.phase(), PumpDuty::Phase::running);
  EXPECT_FALSE(bench.core.off_due_since());
  bench.pump_answers = false;
  bench.see(ProbeSample{rules::Role::ph, 8.5});
  const Instant due = bench.now.mono;
  bench.run(10s);
  EXPECT_EQ(bench.core.off_due_since(), due);
  bench.pump(Command::off, Result::off);
  EXPECT_FALSE(bench.core.off_due_since());
}

TEST(OffDue, is_nothing_of_an_outlet_that_rests_and_is_not_heard) {
  Bench bench;
  bench.run(2min);
  bench.pump_answers = false;
  bench.run(10min);
  EXPECT_FALSE(bench.core.off_due_since());
}

TEST(OffDue, is_nothing_of_before_the_start_for_another_end_would_help_no_better) {
  History history;
  history.open_pulse = PulseRecord{7, Millilitres{30.0}, 45s, {}, {}};
  Settings settings = Bench::usual();
  settings.pump_ends = RunEnds::by_us;
  Bench bench{settings, history};
  bench.pump_answers = false;
  bench.run(1min);
  EXPECT_FALSE(bench.core.off_due_since());
  bench.pump_answers = true;
}

class Observed : public testing::Test {
 protected:
  Bench bench{Bench::observed()};
  /// One answer of the input a second.
  void answers(std::optional<bool> running, Duration lasting) {
    for (const Instant end = bench.now.mono + lasting; bench.now.mono < end;) {
      bench.see(StirrerSample{running});
      bench.second();
    }
  }
};

TEST_F(Observed, is_unknown_until_heard_and_then_settles_from_that_moment) {
  bench.run(2h);
  EXPECT_TRUE(bench.held_for("stirrer-unknown"));
  answers(std::nullopt, 1min);
  EXPECT_TRUE(bench.held_for("stirrer-unknown"));
  answers(false, 60min - 1s);
  EXPECT_TRUE(bench.held_for("settling"));
  answers(false, 1s);
  EXPECT_FALSE(bench.held_for("settling"));
  EXPECT_EQ(bench.count<RunEffect>(), 0U);
}

TEST_F(Observed, running_is_recorded_holds_and_ends_a_pulse_at_once) {
  answers(false, 60min + 2s);
  for (int i = 0; i < 1800 && bench.phase() != PumpDuty::Phase::running; ++i) {
    answers(false, 1s);
  }
  ASSERT_EQ(bench.phase(), PumpDuty::Phase::running);
  bench.pump_answers = false;
  bench.see(StirrerSample{true});
  EXPECT_EQ(bench.phase(), PumpDuty::Phase::ending);
  EXPECT_EQ(bench.count<AppendStir>(), 1U);
  bench.pump_answers = true;
  bench.pump(Command::off, Result::off);
  answers(true, 10min);
  EXPECT_TRUE(bench.held_for("stirrer-running"));
  EXPECT_EQ(bench.count<AppendStir>(), 1U);
  answers(false, 2s);
  EXPECT_TRUE(bench.held_for("settling"));
  EXPECT_EQ(bench.count<CloseStir>(), 1U);
}

TEST_F(Observed, a_gap_of_more_than_ten_seconds_is_unknown_and_settles_anew) {
  answers(false, 61min);
  EXPECT_FALSE(bench.held_for("settling"));
  answers(std::nullopt, 9s);
  answers(false, 2s);
  EXPECT_FALSE(bench.held_for("settling")) << "ten seconds are bridged";
  answers(std::nullopt, 12s);
  EXPECT_TRUE(bench.held_for("stirrer-unknown"));
  answers(false, 2s);
  EXPECT_TRUE(bench.held_for("settling"));
}

}  // namespace
}  // namespace limegate::station
