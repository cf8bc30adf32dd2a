// A disk that takes its time: what is written late is not dosed late, and no slot or stir is lost.

#include <deque>
#include <utility>

#include <gtest/gtest.h>

#include "station/bench.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using Command = Bench::Command;
using Result = Bench::Result;
using Phase = PumpDuty::Phase;

constexpr const char* kSlow = "disk-slow";

/// The ledger is the test's: each row is durable after so long.
class SlowDisk : public testing::Test {
 protected:
  explicit SlowDisk(const Settings& settings = Bench::usual()) : bench(settings) {}
  Bench bench;

  /// Up to the row of the next pulse.
  std::int64_t to_pulse() {
    bench.ledger_answers = false;
    const auto append = bench.until<AppendPulse>();
    EXPECT_TRUE(append);
    return append ? append->pulse.id : -1;
  }
  /// Up to the row of the next stir; pulses are quick.
  std::int64_t to_stir() {
    for (const Instant end = bench.now.mono + 8h; bench.now.mono < end;) {
      bench.ledger_answers = false;
      const std::size_t stirs = bench.count<AppendStir>();
      const std::size_t pulses = bench.count<AppendPulse>();
      bench.second();
      if (bench.count<AppendStir>() > stirs) {
        return bench.newest<AppendStir>()->stir.id;
      }
      if (bench.count<AppendPulse>() > pulses) {
        bench.see(PulseDurable{bench.newest<AppendPulse>()->pulse.id});
      }
    }
    ADD_FAILURE() << "no stir in 8 h";
    return -1;
  }
  [[nodiscard]] std::size_t runs(rules::OutletRole role) const {
    std::size_t count = 0;
    for (const Effect& effect : bench.log) {
      const auto* run = std::get_if<RunEffect>(&effect);
      count += run != nullptr && run->role == role ? 1U : 0U;
    }
    return count;
  }
};

TEST_F(SlowDisk, a_row_that_takes_two_seconds_is_dosed) {
  const std::int64_t id = to_pulse();
  bench.run(2s);
  bench.see(PulseDurable{id});
  bench.second();
  EXPECT_EQ(runs(rules::OutletRole::pump), 1U);
  EXPECT_FALSE(bench.held_for(kSlow));
}

struct Row {
  const char* name;
  Duration durable_after;
  bool dosed;
};
class SlowDiskTable : public SlowDisk, public testing::WithParamInterface<Row> {};

TEST_P(SlowDiskTable, a_pulse_waits_five_seconds_for_its_row_and_no_longer) {
  const std::int64_t id = to_pulse();
  bench.run(GetParam().durable_after - 1s);
  bench.now.mono += 1s;
  bench.now.wall += 1s;
  bench.see(PulseDurable{id});
  bench.second();
  EXPECT_EQ(runs(rules::OutletRole::pump), GetParam().dosed ? 1U : 0U);
  EXPECT_EQ(bench.held_for(kSlow), !GetParam().dosed);
  EXPECT_EQ(bench.raised("held-disk-slow"), GetParam().dosed ? 0U : 1U);
}
INSTANTIATE_TEST_SUITE_P(, SlowDiskTable,
                         testing::Values(Row{"below", 4s, true}, Row{"at", 5s, true},
                                         Row{"above", 5s + 1ns, false},
                                         Row{"far_above", 30s, false}),
                         [](const auto& row) { return std::string{row.param.name}; });

TEST_F(SlowDisk, the_expiry_begins_when_the_row_is_durable) {
  const std::int64_t id = to_pulse();
  bench.run(4s);
  bench.see(PulseDurable{id});
  bench.now.mono += 2s;  // no step came for two seconds
  bench.now.wall += 2s;
  bench.second();
  EXPECT_EQ(runs(rules::OutletRole::pump), 0U);
  EXPECT_EQ(bench.newest<ClosePulse>()->fate, Fate::not_given);
}

TEST_F(SlowDisk, what_waits_for_it_is_held_and_says_so_until_it_was_quick_again) {
  to_pulse();
  bench.run(6s);
  EXPECT_TRUE(bench.held_for(kSlow)) << "not only when the disk has answered";
  bench.run(10min);
  EXPECT_TRUE(bench.held_for(kSlow));
  EXPECT_EQ(bench.count<AppendPulse>(), 1U) << "one row at a time";
}

TEST_F(SlowDisk, uses_no_slot_up) {
  const std::int64_t id = to_pulse();
  bench.run(20s);
  bench.see(PulseDurable{id});
  bench.second();
  const auto closed = bench.newest<ClosePulse>();
  ASSERT_TRUE(closed);
  EXPECT_EQ(closed->fate, Fate::not_given);
  bench.ledger_answers = true;
  bench.run(58s);
  EXPECT_EQ(runs(rules::OutletRole::pump), 0U) << "held for a minute";
  bench.run(3s);
  EXPECT_EQ(runs(rules::OutletRole::pump), 1U) << "the same slot again";
  EXPECT_FALSE(bench.held_for(kSlow));
  EXPECT_EQ(bench.raised("cleared-disk-slow"), 1U);
}

TEST_F(SlowDisk, frees_no_slot_that_was_used_when_an_attended_pulse_is_late) {
  ASSERT_TRUE(bench.until<AppendPulse>());  // in the first half of a slot of 22.5 min
  bench.run(2min);
  ASSERT_EQ(bench.newest<ClosePulse>()->fate, Fate::given);
  bench.ledger_answers = false;
  ASSERT_EQ(bench.command(RunAttended{Millilitres{10.0}}).verdict, Answer::Verdict::accepted);
  bench.run(20s);
  ASSERT_EQ(bench.count<AppendPulse>(), 2U);
  bench.see(PulseDurable{bench.newest<AppendPulse>()->pulse.id});
  bench.second();
  ASSERT_EQ(bench.newest<ClosePulse>()->fate, Fate::not_given);
  bench.ledger_answers = true;
  bench.run(8min);
  EXPECT_EQ(bench.count<AppendPulse>(), 2U) << "the slot had its pulse";
}

TEST_F(SlowDisk, is_told_to_a_person_after_two_minutes_and_once) {
  to_pulse();
  bench.run(5s + 2min);
  EXPECT_EQ(bench.raised("disk-slow"), 0U);
  bench.run(2s);
  EXPECT_EQ(bench.raised("disk-slow"), 1U);
  const Event told = bench.newest_event("disk-slow");
  EXPECT_EQ(told.severity, Severity::alert);
  bench.run(3h);
  EXPECT_EQ(bench.raised("disk-slow"), 1U);
  bench.see(PulseDurable{bench.newest<AppendPulse>()->pulse.id});
  bench.ledger_answers = true;
  bench.run(3h);
  EXPECT_EQ(bench.raised("disk-in-time"), 1U);
  EXPECT_EQ(bench.newest_event("disk-in-time").ends, "disk-slow");
}

// Found by a campaign: each time that the hold cleared, to try again, the alert was over, and it
// was told no more.
TEST_F(SlowDisk, that_stays_slow_stays_an_alert_while_it_is_tried_again) {
  bench.ledger_answers = false;
  std::size_t pulses = 0;
  std::size_t stirs = 0;
  for (const Instant end = bench.now.mono + 8h; bench.now.mono < end;) {
    bench.second();
    if (bench.count<AppendPulse>() > pulses) {
      ++pulses;
      bench.run(15s);
      bench.see(PulseDurable{bench.newest<AppendPulse>()->pulse.id});
    } else if (bench.count<AppendStir>() > stirs) {
      ++stirs;
      bench.run(15s);
      bench.see(StirDurable{bench.newest<AppendStir>()->stir.id});
    }
  }
  EXPECT_EQ(bench.raised("disk-slow"), 1U);
  EXPECT_GT(bench.raised("cleared-disk-slow"), 4U);
  EXPECT_TRUE(bench.alert_stands("disk-slow"));
}

TEST_F(SlowDisk, one_slow_row_is_no_alert) {
  const std::int64_t id = to_pulse();
  bench.run(20s);
  bench.see(PulseDurable{id});
  bench.ledger_answers = true;
  bench.run(3h);
  EXPECT_EQ(bench.raised("disk-slow"), 0U);
  EXPECT_EQ(bench.raised("disk-in-time"), 0U);
}

TEST_F(SlowDisk, a_guard_that_could_not_write_in_time_holds_too) {
  const std::int64_t id = to_pulse();
  bench.pump_answers = false;
  bench.see(PulseDurable{id});
  bench.second();
  ASSERT_EQ(runs(rules::OutletRole::pump), 1U);
  OutletReport refused{rules::OutletRole::pump, Command::run, Result::refused, "too slow"};
  refused.disk_too_slow = true;
  bench.see(refused);
  bench.pump_answers = true;
  bench.second();
  EXPECT_TRUE(bench.held_for(kSlow));
  EXPECT_EQ(bench.newest<ClosePulse>()->fate, Fate::not_given);
  bench.ledger_answers = true;
  bench.run(65s);
  EXPECT_EQ(runs(rules::OutletRole::pump), 2U) << "the same slot again";
}

TEST_F(SlowDisk, a_command_may_be_sent_for_as_long_as_the_guards_record_may_take) {
  const std::int64_t id = to_pulse();
  bench.see(PulseDurable{id});
  bench.second();
  const auto run = bench.newest<RunEffect>();
  ASSERT_TRUE(run);
  EXPECT_EQ(run->send_before, bench.now.mono + 7s);
  const PulseRecord& pulse = bench.newest<AppendPulse>()->pulse;
  EXPECT_GE(pulse.end.lifetime, pulse.reserved.lifetime + 5s + 2s + 7s + pulse.duration)
      << "no dose ends later than its row says";
}

Settings untimed() {
  Settings settings = Bench::usual();
  settings.pump_ends = RunEnds::by_us;
  return settings;
}
class SlowDiskUntimed : public SlowDisk {
 protected:
  SlowDiskUntimed() : SlowDisk(untimed()) {}
};

TEST_F(SlowDiskUntimed, a_dose_is_measured_from_when_its_command_was_handed_to_the_outlet) {
  const std::int64_t id = to_pulse();
  bench.pump_answers = false;
  bench.see(PulseDurable{id});
  bench.second();
  const Instant sent = bench.now.mono;
  bench.run(4s);  // the guard writes its record
  OutletReport on{rules::OutletRole::pump, Command::run, Result::on, ""};
  on.handed_over = sent + 4s;
  bench.pump_answers = true;
  bench.pump_until = sent + 4s + 45s;
  bench.see(on);
  while (bench.now.mono < sent + 4s + 44s) {
    bench.second();
    ASSERT_EQ(bench.count<ClosePulse>(), 0U) << "not cut short by what the record took";
  }
  bench.run(4s);
  const auto closed = bench.newest<ClosePulse>();
  ASSERT_TRUE(closed);
  EXPECT_EQ(closed->fate, Fate::given);
  EXPECT_NEAR(closed->counted.count(), 30.0, 2.0);
}

TEST_F(SlowDiskUntimed, a_guard_whose_disk_hangs_makes_no_dose_and_no_false_alarm) {
  const std::int64_t id = to_pulse();
  bench.see(PulseDurable{id});
  bench.pump_answers = false;
  bench.second();
  ASSERT_EQ(bench.phase(), Phase::sent);
  bench.pump_answers = true;  // the run itself stays unanswered
  bench.run(2min);
  OutletReport refused{rules::OutletRole::pump, Command::run, Result::refused, "too slow"};
  refused.disk_too_slow = true;
  bench.see(refused);
  bench.run(5s);
  const auto closed = bench.newest<ClosePulse>();
  ASSERT_TRUE(closed);
  EXPECT_EQ(closed->fate, Fate::not_given);
  EXPECT_EQ(closed->counted.count(), 0.0);
  EXPECT_EQ(bench.raised("pump-off-late"), 0U);
  EXPECT_TRUE(bench.held_for(kSlow));
}

TEST_F(SlowDisk, a_stir_whose_row_was_late_is_tried_again_and_the_limewater_stays_settled) {
  const std::int64_t id = to_stir();
  bench.run(20s);
  bench.see(StirDurable{id});
  bench.second();
  EXPECT_EQ(runs(rules::OutletRole::stirrer), 0U);
  EXPECT_TRUE(bench.held_for(kSlow));
  EXPECT_FALSE(bench.held_for("settling")) << "nothing was stirred";
  bench.ledger_answers = true;
  bench.run(65s);
  EXPECT_EQ(runs(rules::OutletRole::stirrer), 1U);
}

TEST_F(SlowDisk, a_stir_whose_row_takes_four_seconds_is_stirred) {
  const std::int64_t id = to_stir();
  bench.run(4s);
  bench.see(StirDurable{id});
  bench.second();
  EXPECT_EQ(runs(rules::OutletRole::stirrer), 1U);
}

TEST_F(SlowDisk, a_stir_that_the_guard_could_not_write_down_in_time_is_tried_again) {
  const std::int64_t id = to_stir();
  bench.stirrer_answers = false;
  bench.see(StirDurable{id});
  bench.second();
  ASSERT_EQ(runs(rules::OutletRole::stirrer), 1U);
  OutletReport refused{rules::OutletRole::stirrer, Command::run, Result::refused, "too slow"};
  refused.disk_too_slow = true;
  bench.stirrer_answers = true;
  bench.ledger_answers = true;
  bench.see(refused);
  bench.run(3s);
  EXPECT_TRUE(bench.held_for(kSlow));
  EXPECT_FALSE(bench.held_for("settling")) << "nothing was stirred";
  bench.run(65s);
  EXPECT_EQ(runs(rules::OutletRole::stirrer), 2U);
}

TEST_F(SlowDisk, a_fault_of_the_ledger_is_no_slow_disk) {
  to_pulse();
  bench.run(3s);
  bench.see(LedgerFault{"as the test says"});
  bench.run(10s);
  EXPECT_FALSE(bench.held_for(kSlow));
  EXPECT_TRUE(bench.held_for("ledger-not-writable"));
}

TEST_F(SlowDisk, a_healthy_day_with_rows_of_two_seconds_gives_the_plan) {
  bench.ledger_answers = false;
  std::deque<std::pair<Instant, Observation>> durable;
  std::size_t seen = 0, stirs = 0;
  for (const Instant end = bench.now.mono + 24h; bench.now.mono < end;) {
    bench.second();
    for (; seen < bench.log.size(); ++seen) {
      if (const auto* pulse = std::get_if<AppendPulse>(&bench.log[seen])) {
        durable.emplace_back(bench.now.mono + 2s, PulseDurable{pulse->pulse.id});
      } else if (const auto* stir = std::get_if<AppendStir>(&bench.log[seen])) {
        durable.emplace_back(bench.now.mono + 2s, StirDurable{stir->stir.id});
        ++stirs;
      }
    }
    while (!durable.empty() && bench.now.mono >= durable.front().first) {
      const Observation row = durable.front().second;
      durable.pop_front();
      bench.see(row);
    }
  }
  EXPECT_GE(bench.core.status(bench.now).given_day.count(), 0.9 * 720.0);
  EXPECT_EQ(bench.raised("held-disk-slow"), 0U);
  EXPECT_GE(stirs, 11U);
  EXPECT_EQ(runs(rules::OutletRole::stirrer), stirs);
}

}  // namespace
}  // namespace limegate::station
