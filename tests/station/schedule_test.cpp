// What is given in the clear windows, alone: no pump, no water.

#include "station/schedule.h"

#include <gtest/gtest.h>

#include "station/part.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

constexpr Millilitres kDay{720.0};
const dosing::Window kWindow{kStart.mono, kStart.mono + 45min};

Schedule::Present usual(Millilitres asked = kDay) {
  return {{asked, asked, kDay}, Anchor::Halved::no, 1.0, std::nullopt};
}

class ScheduleAlone : public testing::Test {
 protected:
  void open(const Schedule::Present& present = usual(), std::optional<Instant> asked = {}) {
    ASSERT_TRUE(schedule.opens(kWindow, kWindow.open));
    schedule.open(kWindow, kStart, present, {}, asked);
    EXPECT_FALSE(schedule.opens(kWindow, kWindow.open)) << "once";
  }
  [[nodiscard]] std::optional<Schedule::Due> due(Duration at) const {
    return schedule.due(kWindow, kWindow.open + at, std::nullopt);
  }

  Schedule schedule{part_settings(), {}, usual(), kStart};
};

TEST_F(ScheduleAlone, a_slot_is_due_until_it_was_used_and_again_if_nothing_was_sent) {
  open();
  const auto first = due(12min);
  ASSERT_TRUE(first);
  EXPECT_EQ(first->volume, Millilitres{30.0});
  schedule.used(first->slot, 7);
  EXPECT_FALSE(due(12min));
  schedule.not_sent(8);
  EXPECT_FALSE(due(12min)) << "that was another pulse";
  schedule.not_sent(7);
  EXPECT_TRUE(due(12min));
  schedule.used(first->slot, 9);
  const auto second = due(34min);
  ASSERT_TRUE(second);
  EXPECT_EQ(second->slot.index, 1);
}

TEST_F(ScheduleAlone, another_volume_drops_what_its_window_still_had_to_give) {
  open();
  ASSERT_TRUE(due(12min));
  schedule.change(kWindow, usual(Millilitres{360.0}));
  EXPECT_FALSE(due(12min));
  EXPECT_EQ(schedule.shape().window_volume, Millilitres{30.0});
}

TEST_F(ScheduleAlone, a_window_in_which_a_volume_was_asked_for_before_the_start_gives_no_more) {
  open(usual(), kWindow.open + 1s);
  EXPECT_FALSE(due(12min));
}

TEST(Schedule, goes_on_within_a_window_where_it_was_before_the_start) {
  History history;
  history.newest_reserved = kWindow.open + 12min;
  Schedule schedule{part_settings(), history, usual(), kStart};
  schedule.open(kWindow, kStart, usual(), {}, {});
  EXPECT_FALSE(schedule.due(kWindow, kWindow.open + 13min, {})) << "its slot was used";
  EXPECT_TRUE(schedule.due(kWindow, kWindow.open + 34min, {}));
}

TEST_F(ScheduleAlone, is_halved_at_most_once_whatever_the_reasons) {
  Schedule::Present present = usual();
  for (const auto halved : {Anchor::Halved::rate_unconfirmed, Anchor::Halved::rate_contradicted,
                            Anchor::Halved::beyond_chemistry}) {
    present.halved = halved;
    EXPECT_EQ(schedule.in_force(kDay, present), Millilitres{360.0});
    EXPECT_EQ(schedule.in_force(Millilitres{100.0}, present), Millilitres{100.0});
  }
  Settings settings = part_settings();
  settings.begins_with = Millilitres{360.0};
  present.asked = {Millilitres{360.0}, Millilitres{360.0}, kDay};
  const Schedule gently{settings, {}, present, kStart};
  EXPECT_EQ(gently.in_force(Millilitres{360.0}, present), Millilitres{360.0}) << "half already";
}

TEST_F(ScheduleAlone, sizes_by_the_water_and_never_above_the_file) {
  EXPECT_EQ(schedule.largest_pulse({}), Millilitres{30.0});
  EXPECT_EQ(schedule.largest_pulse(PhChange{0.002}), Millilitres{10.0}) << "0.02 pH at once";
  EXPECT_EQ(schedule.hour_limit(PhChange{0.002}), Millilitres{40.0}) << "0.08 pH an hour";
  EXPECT_EQ(schedule.hour_limit(PhChange{0.0001}), Millilitres{200.0});
  open();
  EXPECT_EQ(schedule.due(kWindow, kWindow.open + 12min, PhChange{0.002})->volume,
            Millilitres{10.0});
}

TEST_F(ScheduleAlone, a_volume_is_kept_when_another_comes_into_force) {
  const dosing::Stamp today{kStart.mono.time_since_epoch(), kStart.wall};
  Effects effects;
  schedule.note_in_force(today, usual(), effects);
  schedule.note_in_force(today, usual(), effects);
  EXPECT_EQ(effects.size(), 1U);
  EXPECT_EQ(schedule.day_bound(today, {}), kDay + Millilitres{30.0}) << "and one pulse";
  schedule.store(effects);
  EXPECT_EQ(effects.size(), 2U);
}

TEST_F(ScheduleAlone, says_why_a_volume_can_not_be_kept_to) {
  EXPECT_EQ(schedule.objection(kDay), "");
  EXPECT_NE(schedule.objection(Millilitres{50000.0}), "");
}

}  // namespace
}  // namespace limegate::station
