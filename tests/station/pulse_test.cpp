#include <gtest/gtest.h>

#include "station/driven.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using Command = OutletReport::Command;
using Result = OutletReport::Result;
using rules::OutletRole;

class PulseTest : public testing::Test {
 protected:
  /// A pulse whose row is durable; the next step may send it.
  AppendPulse reserve() {
    const auto pulse = driven_.live_until_reserved();
    EXPECT_TRUE(pulse.has_value());
    return *pulse;
  }
  /// A pulse that was sent; its outcome is open.
  station::Run send() {
    const AppendPulse pulse = reserve();
    driven_.tell(PulseDurable{pulse.pulse.id});
    const Effects effects = driven_.second();
    driven_.answer_others(effects);
    const auto* run = Driven::first<station::Run>(effects);
    EXPECT_NE(run, nullptr);
    return run == nullptr ? station::Run{} : *run;
  }
  station::Run start() {
    const station::Run run = send();
    driven_.pump_until = driven_.now.mono + run.duration;
    driven_.report(OutletRole::pump, Command::run, Result::on);
    return run;
  }
  [[nodiscard]] double given() { return driven_.core.status(driven_.now).given_day.count(); }
  /// The fate and count of the only row that these effects close.
  static ClosePulse closed(const Effects& effects) {
    const auto* close = Driven::first<ClosePulse>(effects);
    EXPECT_NE(close, nullptr) << "no row was closed";
    return close == nullptr ? ClosePulse{} : *close;
  }
  Driven driven_;
};

TEST_F(PulseTest, is_sent_by_the_step_after_its_row_became_durable_and_never_by_an_observation) {
  const AppendPulse pulse = reserve();
  EXPECT_EQ(given(), pulse.pulse.volume.count()) << "it counts from the decision on";
  EXPECT_EQ(Driven::first<station::Run>(driven_.tell(PulseDurable{pulse.pulse.id})), nullptr);
  const Effects effects = driven_.second();
  const auto* run = Driven::first<station::Run>(effects);
  ASSERT_NE(run, nullptr);
  EXPECT_EQ(run->role, OutletRole::pump);
  EXPECT_EQ(run->id, pulse.pulse.id);
  EXPECT_EQ(run->duration, pulse.pulse.duration);
  EXPECT_LE(run->duration, 20s);
}

TEST_F(PulseTest, is_not_sent_while_its_row_is_not_durable) {
  reserve();
  EXPECT_EQ(Driven::first<station::Run>(driven_.second()), nullptr);
  driven_.tell(PulseDurable{9999});
  EXPECT_EQ(Driven::first<station::Run>(driven_.second()), nullptr)
      << "another row's commit is no permit";
}

TEST_F(PulseTest, whose_commit_came_late_expires_and_is_closed_as_not_given) {
  const AppendPulse pulse = reserve();
  (void)driven_.second();
  driven_.tell(PulseDurable{pulse.pulse.id});
  const Effects effects = driven_.second();  // two seconds after the decision
  EXPECT_EQ(Driven::first<station::Run>(effects), nullptr);
  EXPECT_EQ(closed(effects).fate, Fate::not_given);
  EXPECT_EQ(given(), 0.0);
}

TEST_F(PulseTest, is_not_sent_when_the_gate_was_held_meanwhile) {
  const AppendPulse pulse = reserve();
  driven_.tell(PulseDurable{pulse.pulse.id});
  driven_.tell(KeeperPauses{1h});
  const Effects effects = driven_.second();
  EXPECT_EQ(Driven::first<station::Run>(effects), nullptr);
  EXPECT_EQ(closed(effects).fate, Fate::not_given);
}

TEST_F(PulseTest, that_the_guard_refused_is_closed_as_not_given) {
  send();
  EXPECT_EQ(closed(driven_.report(OutletRole::pump, Command::run, Result::refused)).fate,
            Fate::not_given);
  EXPECT_EQ(given(), 0.0);
}

TEST_F(PulseTest, of_unknown_outcome_is_switched_off_counts_in_full_and_is_never_sent_again) {
  const station::Run run = send();
  const Effects effects = driven_.report(OutletRole::pump, Command::run, Result::unknown);
  ASSERT_NE(Driven::first<SwitchOff>(effects), nullptr);
  const double full = given();
  const ClosePulse close = closed(driven_.report(OutletRole::pump, Command::off, Result::off));
  EXPECT_EQ(close.counted.count(), full) << "an early off proves nothing about a late frame";
  driven_.live(2h);
  int runs = 0;
  for (const Effect& effect : driven_.all) {
    const auto* again = std::get_if<station::Run>(&effect);
    runs += again != nullptr && again->role == OutletRole::pump && again->id == run.id ? 1 : 0;
  }
  EXPECT_EQ(runs, 1);
}

TEST_F(PulseTest, ends_at_once_by_one_raw_value_at_the_ceiling) {
  start();
  EXPECT_EQ(Driven::first<SwitchOff>(driven_.tell(ProbeSample{rules::Role::ph, 8.449})), nullptr);
  ASSERT_NE(Driven::first<SwitchOff>(driven_.tell(ProbeSample{rules::Role::ph, 8.45})), nullptr);
}

TEST_F(PulseTest, is_not_ended_by_an_implausible_raw_value_before_the_next_step_and_then_is) {
  start();
  EXPECT_EQ(Driven::first<SwitchOff>(driven_.tell(ProbeSample{rules::Role::ph, 14.0})), nullptr);
  driven_.readings = false;
  EXPECT_NE(Driven::first<SwitchOff>(driven_.second()), nullptr);
}

TEST_F(PulseTest, cut_short_counts_at_least_what_could_have_flowed) {
  const station::Run run = start();
  driven_.live(5s);
  driven_.tell(ProbeSample{rules::Role::ph, 8.5});
  const ClosePulse close = closed(driven_.report(OutletRole::pump, Command::off, Result::off));
  EXPECT_EQ(close.fate, Fate::cut_short);
  // 5 s at 60 mL/min are 5 mL; a second of handling more is taken on top.
  EXPECT_GE(close.counted.count(), 5.0);
  EXPECT_LE(close.counted.count(), 7.0);
  EXPECT_LT(close.counted.count(),
            60.0 / 60.0 * std::chrono::duration<double>(run.duration).count());
}

TEST_F(PulseTest, a_look_from_before_the_run_was_carried_out_closes_nothing) {
  send();
  driven_.tell(ProbeSample{rules::Role::ph, 8.5});  // stop while the run is still under way
  const Effects stale = driven_.report(OutletRole::pump, Command::off, Result::off);
  EXPECT_EQ(Driven::first<ClosePulse>(stale), nullptr);
  // The run was carried out after all; only an off that was confirmed after it counts.
  driven_.report(OutletRole::pump, Command::run, Result::on);
  const Effects asked = driven_.second();
  ASSERT_NE(Driven::first<SwitchOff>(asked), nullptr);
  EXPECT_EQ(closed(driven_.report(OutletRole::pump, Command::off, Result::off)).fate,
            Fate::cut_short);
}

TEST_F(PulseTest, ends_by_the_boards_timer_and_counts_its_volume) {
  const station::Run run = start();
  driven_.live(run.duration + 2s);
  EXPECT_EQ(driven_.events("pulse-given"), 1);
  EXPECT_EQ(driven_.count<ClosePulse>(), 1);
  EXPECT_EQ(driven_.core.status(driven_.now).pump, PumpDuty::Phase::resting);
}

TEST_F(PulseTest, that_reads_on_after_its_end_is_ended_counted_beyond_its_volume_and_latched) {
  const station::Run run = start();
  const double volume = given();
  driven_.pump_until = driven_.now.mono + 24h;  // the board's timer does not work
  driven_.live(run.duration + 5s);
  EXPECT_GT(given(), volume);
  EXPECT_TRUE(driven_.held("pump-timer-failed"));
  bool stored = false;
  for (const Effect& effect : driven_.all) {
    const auto* latch = std::get_if<StoreLatch>(&effect);
    stored = stored || (latch != nullptr && latch->code == "pump-timer-failed");
  }
  EXPECT_TRUE(stored) << "it must survive a restart";
}

TEST_F(PulseTest, a_ledger_fault_in_any_phase_keeps_the_pump_off_and_the_count) {
  const AppendPulse pulse = reserve();
  driven_.tell(LedgerFault{"disk full"});
  EXPECT_EQ(Driven::first<station::Run>(driven_.second()), nullptr);
  EXPECT_EQ(given(), pulse.pulse.volume.count()) << "the row may be on the disk";
  EXPECT_TRUE(driven_.held("ledger-not-writable"));
  driven_.tell(LedgerSound{});
  start();
  EXPECT_NE(Driven::first<SwitchOff>(driven_.tell(LedgerFault{"input/output error"})), nullptr);
}

TEST_F(PulseTest, a_pause_ends_it_expires_by_itself_and_is_at_most_a_day) {
  start();
  EXPECT_NE(Driven::first<SwitchOff>(driven_.tell(KeeperPauses{72h})), nullptr);
  driven_.pump_until.reset();
  driven_.report(OutletRole::pump, Command::off, Result::off);
  driven_.live(24h - 2s);
  EXPECT_TRUE(driven_.held("paused"));
  driven_.live(3s);
  EXPECT_FALSE(driven_.held("paused"));
}

}  // namespace
}  // namespace limegate::station
