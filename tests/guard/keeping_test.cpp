// What the guard keeps for others, beside what it goes by itself.

#include <gtest/gtest.h>

#include "guard/fakes.h"

namespace limegate::guard {
namespace {

using Saved = RecordStore::Saved;

Kept latched() { return {{"ph-second-ceiling"}, {}}; }

TEST(Keeping, is_written_at_once_and_once) {
  Rig rig;
  rig.guard.keep(latched());
  ASSERT_EQ(rig.store.saved.size(), 1U);
  EXPECT_EQ(rig.store.saved[0].kept, latched());
  EXPECT_EQ(rig.store.saved[0].newest_pulse_id, 10);
  rig.store.answer(Saved::durably);
  rig.guard.keep(latched());
  EXPECT_EQ(rig.store.saved.size(), 1U);
  rig.guard.keep({});
  EXPECT_EQ(rig.store.saved.size(), 2U);
}

TEST(Keeping, is_tried_again_when_it_could_not_be_written) {
  Rig rig;
  rig.guard.keep(latched());
  rig.store.answer(Saved::failed);
  rig.guard.keep(latched());
  EXPECT_EQ(rig.store.saved.size(), 2U);
}

TEST(Keeping, of_an_earlier_run_is_known_and_goes_into_every_record) {
  Record known = Rig::settled();
  known.kept = latched();
  Rig rig{known};
  rig.guard.keep(latched());
  EXPECT_TRUE(rig.store.saved.empty());
  rig.pulse(11);
  rig.up_to_run();
  ASSERT_EQ(rig.store.saved.size(), 1U);
  EXPECT_EQ(rig.store.saved[0].kept, latched());
  EXPECT_EQ(rig.store.saved[0].newest_pulse_id, 11);
}

TEST(Keeping, of_a_record_of_the_first_format_is_written_even_if_it_is_nothing) {
  Rig rig;
  rig.guard.keep({});
  ASSERT_EQ(rig.store.saved.size(), 1U);
  EXPECT_EQ(rig.store.saved[0].kept, Kept{});
}

// The file says "running" before the stirrer is switched on. Had a latch then written "resting, and
// for hours", a restart in mid stir would have believed it.
TEST(Keeping, while_a_stir_begins_goes_on_saying_that_it_runs) {
  Rig rig;
  rig.stir();
  rig.stirrer.answer(OutletState::off);
  rig.pump.answer(OutletState::off);
  ASSERT_EQ(rig.store.saved.size(), 1U);
  EXPECT_EQ(rig.store.saved[0].stirrer, Record::Stirrer::running);
  rig.guard.keep(latched());
  ASSERT_EQ(rig.store.saved.size(), 2U);
  EXPECT_EQ(rig.store.saved[1].stirrer, Record::Stirrer::running);
}

TEST(Keeping, changes_nothing_that_the_guard_goes_by) {
  Rig rig;
  rig.guard.keep(latched());
  rig.store.answer(Saved::failed);
  rig.pulse(11);
  rig.up_to_run();
  EXPECT_EQ(rig.pump.runs, 1);
}

}  // namespace
}  // namespace limegate::guard
