#include <gtest/gtest.h>

#include "station/driven.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using Command = OutletReport::Command;
using Result = OutletReport::Result;
using rules::OutletRole;

TEST(Stir, without_history_it_ended_when_the_outlet_was_first_confirmed_to_be_off) {
  Driven driven;
  for (int i = 0; i < 600; ++i) {
    (void)driven.second();  // the board does not answer for ten minutes
  }
  EXPECT_TRUE(driven.held("stirrer-unknown"));
  driven.report(OutletRole::stirrer, Command::off, Result::off);
  driven.report(OutletRole::pump, Command::off, Result::off);
  driven.live(20min - 1s);
  EXPECT_TRUE(driven.held("settling"));
  driven.live(2s);
  EXPECT_FALSE(driven.held("settling"));
}

TEST(Stir, a_closed_one_of_this_boot_is_believed) {
  History history;
  history.last_stir = History::LastStir{Instant{20min}, Instant{35min}};  // the core begins at 1 h
  Driven driven{Driven::settings(), history};
  driven.live(5s);
  EXPECT_FALSE(driven.held("settling"));
  EXPECT_FALSE(driven.held("stirrer-unknown"));
}

TEST(Stir, never_overlaps_a_pulse_and_keeps_its_rhythm_for_a_day) {
  Driven driven;
  int stirs = 0;
  for (int second = 0; second < 86400; ++second) {
    const Effects effects = driven.second();
    if (const auto* run = Driven::first<station::Run>(effects)) {
      stirs += run->role == OutletRole::stirrer ? 1 : 0;
      const auto& other =
          driven.until(run->role == OutletRole::pump ? OutletRole::stirrer : OutletRole::pump);
      EXPECT_FALSE(other && *other > driven.now.mono) << "at second " << second;
    }
    driven.answer(effects);
  }
  EXPECT_GE(stirs, 23);
  EXPECT_LE(stirs, 24);
  EXPECT_EQ(driven.count<AppendStir>(), stirs) << "each was written first";
}

TEST(Stir, is_not_run_while_its_row_is_not_durable_or_the_ledger_failed) {
  Driven driven;
  int runs = 0;
  driven.tell(LedgerFault{"disk full"});
  for (int second = 0; second < 3 * 3600; ++second) {
    const Effects effects = driven.second();
    runs += Driven::first<station::Run>(effects) != nullptr ? 1 : 0;
    driven.answer(effects);
  }
  EXPECT_EQ(runs, 0);
}

TEST(Stir, switched_on_by_hand_ends_a_running_pulse_at_once) {
  Driven driven;
  while (driven.core.status(driven.now).pump != PumpDuty::Phase::running) {
    driven.answer(driven.second());
    ASSERT_LT(driven.now.mono, Instant{6h});
  }
  const Effects effects = driven.report(OutletRole::stirrer, Command::read_back, Result::on);
  const auto* off = Driven::first<SwitchOff>(effects);
  ASSERT_NE(off, nullptr);
  EXPECT_EQ(off->role, OutletRole::pump);
}

class Observed : public testing::Test {
 protected:
  static Settings settings() {
    Settings settings = Driven::settings();
    settings.stirrer = StirrerKind::observed;
    return settings;
  }
  void live(Duration duration, std::optional<bool> running) {
    for (Duration passed{}; passed < duration; passed += 1s) {
      driven_.tell(StirrerSample{running});
      driven_.answer(driven_.second());
    }
  }
  Driven driven_{settings()};
};

TEST_F(Observed, holds_while_unknown_while_running_and_until_settled) {
  live(30min, std::nullopt);
  EXPECT_TRUE(driven_.held("stirrer-unknown"));
  live(5min, true);
  EXPECT_TRUE(driven_.held("stirrer-running"));
  live(20min - 1s, false);
  EXPECT_TRUE(driven_.held("settling"));
  live(1s, false);
  EXPECT_FALSE(driven_.held("settling"));
  for (const Effect& effect : driven_.all) {
    const auto* run = std::get_if<station::Run>(&effect);
    EXPECT_FALSE(run != nullptr && run->role == OutletRole::stirrer);
  }
}

TEST_F(Observed, a_gap_of_more_than_ten_seconds_begins_the_settling_anew) {
  live(25min, false);
  EXPECT_FALSE(driven_.held("settling"));
  live(9s, std::nullopt);  // the step of the tenth second
  EXPECT_FALSE(driven_.held("stirrer-unknown"));
  live(1s, std::nullopt);
  EXPECT_TRUE(driven_.held("stirrer-unknown"));
  live(1s, false);
  EXPECT_TRUE(driven_.held("settling"));
}

TEST(Latch, from_the_ledger_holds_from_the_first_step_on) {
  for (const char* code :
       {"ph-second-ceiling", "pump-stuck-on", "stirrer-stuck-on", "pump-timer-failed"}) {
    History history;
    history.latches = {code};
    Driven driven{Driven::settings(), history};
    driven.live(3h);
    EXPECT_TRUE(driven.held(code));
    EXPECT_EQ(driven.count<AppendPulse>(), 0) << code;
  }
}

TEST(Outlet, that_reads_on_after_three_offs_is_stuck_and_told_once) {
  Driven driven;
  driven.live(10s);
  driven.report(OutletRole::pump, Command::read_back, Result::on);
  for (int i = 0; i < 600; ++i) {
    const Effects effects = driven.second();
    for (const Effect& effect : effects) {
      if (const auto* off = std::get_if<SwitchOff>(&effect)) {
        driven.report(off->role, Command::off,
                      off->role == OutletRole::pump ? Result::on : Result::off);
      }
    }
  }
  EXPECT_TRUE(driven.held("pump-stuck-on"));
  EXPECT_EQ(driven.events("held-pump-stuck-on"), 1);
}

TEST(Outlet, that_is_not_heard_of_for_half_a_minute_is_unconfirmed) {
  Driven driven;
  driven.live(10s);
  EXPECT_FALSE(driven.held("pump-unconfirmed"));
  for (int i = 0; i < 45; ++i) {
    for (const Effect& effect : driven.second()) {
      if (const auto* look = std::get_if<ReadBack>(&effect)) {
        driven.report(look->role, Command::read_back, Result::unknown);
      }
    }
  }
  EXPECT_TRUE(driven.held("pump-unconfirmed"));
  EXPECT_TRUE(driven.held("stirrer-unconfirmed"));
}

TEST(Silence, is_told_at_6_12_24_and_48_hours_and_its_end_too) {
  Driven driven;
  driven.live(6h - 1s, 8.5);
  EXPECT_EQ(driven.events("dosing-stopped"), 0);
  driven.live(2s, 8.5);
  EXPECT_EQ(driven.events("dosing-stopped"), 1);
  driven.live(43h, 8.5);
  EXPECT_EQ(driven.events("dosing-stopped"), 4);
  driven.live(3h, 8.2);
  EXPECT_EQ(driven.events("dosing-resumed"), 1);
}

}  // namespace
}  // namespace limegate::station
