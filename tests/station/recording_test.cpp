// What the record can take, alone.

#include "station/recording.h"

#include <gtest/gtest.h>

#include "station/part.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

rules::Snapshot known(const Recording& recording) {
  rules::Snapshot known;
  recording.know(known);
  return known;
}

TEST(Recording, a_fault_stands_until_the_ledger_is_sound_again) {
  Recording recording;
  EXPECT_FALSE(known(recording).ledger_fault);
  recording.take(LedgerFault{"disk full"});
  EXPECT_EQ(known(recording).ledger_fault, "disk full");
  EXPECT_EQ(recording.fault(), "disk full");
  Effects effects;
  recording.take(LedgerSound{}, effects);
  EXPECT_FALSE(recording.fault());
  EXPECT_TRUE(effects.empty());
}

TEST(Recording, a_row_that_the_ledger_lacks_is_stated_again_and_closed_once_it_is_durable) {
  Recording recording;
  recording.take(LedgerFault{"disk full"});
  PulseRecord pulse;
  pulse.id = 3;
  pulse.volume = Millilitres{30.0};
  recording.not_sent(pulse);
  recording.lacks({4, {}, Millilitres{11.0}});
  Effects effects;
  recording.take(LedgerSound{}, effects);
  ASSERT_EQ(effects.size(), 2U);
  EXPECT_EQ(std::get<AppendPulse>(effects[0]).pulse.id, 3);
  EXPECT_EQ(std::get<AppendPulse>(effects[1]).pulse.id, 4);
  effects.clear();
  recording.take(kStart.mono, PulseDurable{3}, effects);
  recording.take(kStart.mono, PulseDurable{4}, effects);
  ASSERT_EQ(effects.size(), 2U);
  EXPECT_EQ(std::get<ClosePulse>(effects[0]).fate, Fate::not_given);
  EXPECT_EQ(std::get<ClosePulse>(effects[1]).counted, Millilitres{11.0});
}

TEST(Recording, a_row_that_comes_too_late_makes_the_disk_slow_for_a_while) {
  Recording recording;
  recording.asked(kStart.mono, {AppendPulse{}});
  Effects effects;
  recording.take(after(4s).mono, PulseDurable{1}, effects);
  EXPECT_FALSE(recording.slow(after(4s).mono));
  recording.asked(after(10s).mono, {AppendStir{}});
  recording.take(after(16s).mono, StirDurable{1});
  EXPECT_TRUE(recording.slow(after(16s).mono));
  const auto until = known(recording).disk_slow_until;
  ASSERT_TRUE(until);
  EXPECT_FALSE(recording.slow(*until));
  EXPECT_TRUE(recording.was_slow(*until));
}

}  // namespace
}  // namespace limegate::station
