// What the guard knows of the stirrer: stirs of its own, by hand, observed, and over restarts.

#include <gtest/gtest.h>

#include "guard/fakes.h"

namespace limegate::guard {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using Stirrer = Record::Stirrer;
constexpr auto kDurably = RecordStore::Saved::durably;

void ignore(const Outcome& /*outcome*/) {}

TEST(Settling, a_stir_is_written_as_running_before_it_runs) {
  Rig rig;
  rig.stir();
  rig.stirrer.answer(OutletState::off);
  rig.pump.answer(OutletState::off);
  ASSERT_EQ(rig.store.saved.size(), 1U);
  EXPECT_EQ(rig.store.saved.back().stirrer, Stirrer::running);
  EXPECT_EQ(rig.store.saved.back().newest_pulse_id, 10);
  EXPECT_EQ(rig.stirrer.runs, 0);
  rig.store.answer(kDurably);
  EXPECT_EQ(rig.stirrer.runs, 1);
  EXPECT_EQ(rig.stirrer.ran_for, 15min);
}

TEST(Settling, refuses_a_stir_that_is_too_long_or_too_late) {
  Rig rig;
  rig.stir(30min + 1ns);
  EXPECT_TRUE(rig.refused("too long"));
  rig.stir(0s);
  EXPECT_TRUE(rig.refused("too long"));
  rig.guard.stir(15min, rig.now(), [&](const Outcome& o) { rig.outcomes.push_back(o); });
  EXPECT_TRUE(rig.refused("too late"));
  EXPECT_TRUE(rig.log.empty());
}

TEST(Settling, after_a_stir_the_pump_waits_from_the_moment_it_was_read_off) {
  Rig rig;
  rig.stir();
  rig.up_to_run();
  rig.stirrer.answer(OutletState::on);
  rig.clock.advance(2h);
  rig.pulse(11);
  EXPECT_TRUE(rig.refused("not known to rest")) << "nobody has read it off";
  rig.guard.read_stirrer(ignore);
  rig.stirrer.answer(OutletState::off);
  ASSERT_EQ(rig.store.saved.size(), 2U);
  EXPECT_EQ(rig.store.saved.back().stirrer, Stirrer::resting);
  EXPECT_EQ(rig.store.saved.back().stir_ended, rig.now());
  rig.store.answer(RecordStore::Saved::failed);  // then the file still says "running"
  rig.clock.advance(60min - 1ns);
  rig.pulse(11);
  EXPECT_TRUE(rig.refused("not settled"));
  rig.clock.advance(1ns);
  rig.pulse(11);
  EXPECT_EQ(rig.stirrer.asked(), 1U);
}

TEST(Settling, an_off_that_overtakes_the_run_of_a_stir_proves_nothing) {
  Rig rig;
  rig.stir();
  rig.up_to_run();
  rig.guard.stirrer_off(ignore);
  rig.stirrer.answer_newest(OutletState::off);
  rig.stirrer.answer(OutletState::on);  // of the run, after it
  rig.pulse(11);
  EXPECT_TRUE(rig.refused("not known to rest"));
  rig.guard.stirrer_off(ignore);
  rig.stirrer.answer(OutletState::off);
  rig.pulse(11);
  EXPECT_TRUE(rig.refused("not settled"));
}

TEST(Settling, a_look_from_before_a_stir_proves_nothing) {
  Rig rig;
  rig.guard.read_stirrer(ignore);
  rig.stir();
  rig.stirrer.answer(OutletState::off);  // of the look
  rig.up_to_run();
  rig.stirrer.answer(OutletState::on);
  rig.pulse(11);
  EXPECT_TRUE(rig.refused("not known to rest"));
}

TEST(Settling, a_stirrer_switched_by_hand_holds_and_settles_anew) {
  Rig rig;
  rig.guard.read_stirrer(ignore);
  rig.stirrer.answer(OutletState::on);
  ASSERT_EQ(rig.store.saved.size(), 1U) << "a crash must not make the water clear";
  EXPECT_EQ(rig.store.saved.back().stirrer, Stirrer::running);
  rig.pulse(11);
  EXPECT_TRUE(rig.refused("not known to rest"));
  rig.guard.read_stirrer(ignore);
  rig.stirrer.answer(OutletState::off);
  rig.pulse(11);
  EXPECT_TRUE(rig.refused("not settled"));
}

TEST(Settling, a_stirrer_that_began_while_the_pulse_was_checked_stops_it) {
  Rig rig;
  rig.pulse(11);
  rig.stirrer.answer(OutletState::off);
  rig.pump.answer(OutletState::off);
  rig.guard.read_stirrer(ignore);
  rig.stirrer.answer(OutletState::on);
  rig.store.answer(kDurably);
  EXPECT_TRUE(rig.refused("stirrer"));
  EXPECT_EQ(rig.pump.runs, 0);
}

TEST(Settling, a_stirrer_that_began_and_ended_while_the_pulse_was_checked_stops_it_too) {
  Rig rig;
  rig.pulse(11);
  rig.stirrer.answer(OutletState::off);
  rig.pump.answer(OutletState::off);
  for (const OutletState state : {OutletState::on, OutletState::off}) {
    rig.guard.read_stirrer(ignore);
    rig.stirrer.answer(state);
  }
  rig.store.answer(kDurably);
  EXPECT_TRUE(rig.refused("settled"));
  EXPECT_EQ(rig.pump.runs, 0);
}

TEST(Settling, what_was_written_last_never_says_an_older_end_of_the_stir) {
  Rig rig;
  rig.pulse(11);
  rig.stirrer.answer(OutletState::off);
  for (const OutletState state : {OutletState::on, OutletState::off}) {
    rig.guard.read_stirrer(ignore);
    rig.stirrer.answer(state);
  }
  const Instant ended = rig.now();
  rig.clock.advance(1s);
  rig.pump.answer(OutletState::off);
  EXPECT_EQ(rig.store.saved.back().stir_ended, ended);
  EXPECT_EQ(rig.store.saved.back().newest_pulse_id, 11);
}

TEST(Settling, the_used_id_is_not_forgotten_by_a_record_written_meanwhile) {
  Rig rig;
  rig.pulse(11);
  rig.stirrer.answer(OutletState::off);
  rig.pump.answer(OutletState::off);
  for (const OutletState state : {OutletState::on, OutletState::off}) {
    rig.guard.read_stirrer(ignore);
    rig.stirrer.answer(state);
  }
  ASSERT_EQ(rig.store.saved.size(), 3U);
  EXPECT_EQ(rig.store.saved.back().newest_pulse_id, 11);
}

TEST(Settling, the_used_id_is_not_forgotten_by_a_later_record) {
  Rig rig;
  rig.pulse(11);
  rig.up_to_run();
  rig.pump.answer(OutletState::on);
  rig.guard.read_stirrer(ignore);
  rig.stirrer.answer(OutletState::on);
  rig.guard.read_stirrer(ignore);
  rig.stirrer.answer(OutletState::off);
  EXPECT_EQ(rig.store.saved.back().newest_pulse_id, 11);
}

TEST(Restart, with_no_record_the_stir_ended_just_now) {
  Rig rig{std::nullopt};
  rig.clock.advance(60min - 1ns);
  rig.pulse(1);
  EXPECT_TRUE(rig.refused("not settled"));
  rig.clock.advance(1ns);
  rig.pulse(1);
  EXPECT_EQ(rig.stirrer.asked(), 1U);
}

TEST(Restart, with_a_record_of_this_boot_goes_on_where_it_was) {
  Rig rig;
  rig.pulse(11);
  EXPECT_EQ(rig.stirrer.asked(), 1U);
}

TEST(Restart, with_a_record_of_another_boot_keeps_the_id_and_nothing_else) {
  Record record = Rig::settled();
  record.boot = "boot-b";
  Rig rig{record};
  rig.pulse(10);
  EXPECT_TRUE(rig.refused("used before"));
  rig.pulse(11);
  EXPECT_TRUE(rig.refused("not settled"));
}

TEST(Restart, with_a_record_of_a_running_stirrer_waits_in_full) {
  Record record = Rig::settled();
  record.stirrer = Stirrer::running;
  Rig rig{record};
  rig.clock.advance(60min - 1ns);
  rig.pulse(11);
  EXPECT_TRUE(rig.refused("not settled"));
}

TEST(Restart, with_a_stir_that_ended_in_the_future_waits_in_full) {
  Record record = Rig::settled();
  record.stir_ended = Instant{30h};
  Rig rig{record};
  rig.pulse(11);
  EXPECT_TRUE(rig.refused("not settled"));
  rig.clock.advance(60min);
  rig.pulse(11);
  EXPECT_EQ(rig.stirrer.asked(), 1U) << "and no longer than that";
}

class ObservedStirrer : public testing::Test {
 protected:
  Rig rig{Rig::settled(), true};
  void hear(Stirrer state) { rig.guard.observe_stirrer(state, rig.now()); }
  void hear_resting_for(Duration lasting) {
    for (const Instant end = rig.now() + lasting; rig.now() < end;) {
      rig.clock.advance(10s);
      hear(Stirrer::resting);
    }
  }
};

TEST_F(ObservedStirrer, is_as_old_as_its_answer_however_late_it_is_told) {
  hear_resting_for(60min + 10s);
  rig.clock.advance(16s);
  rig.guard.observe_stirrer(Stirrer::resting, rig.now() - 16s);
  rig.pulse(11);
  EXPECT_TRUE(rig.refused("not heard of lately")) << "16 s old";
}

TEST_F(ObservedStirrer, is_taken_as_running_until_heard_and_then_settles) {
  rig.pulse(11);
  EXPECT_TRUE(rig.refused("not known to rest"));
  hear(Stirrer::resting);
  rig.pulse(11);
  EXPECT_TRUE(rig.refused("not settled"));
  hear_resting_for(60min - 10s);
  rig.pulse(11);
  EXPECT_TRUE(rig.refused("not settled"));
  hear_resting_for(10s);
  rig.pulse(11);
  EXPECT_EQ(rig.log.back(), "pump read") << "it has no outlet to look at";
}

TEST_F(ObservedStirrer, must_be_heard_of_within_fifteen_seconds) {
  hear(Stirrer::resting);
  hear_resting_for(60min);
  rig.clock.advance(15s);
  rig.pulse(11);
  EXPECT_EQ(rig.pump.asked(), 1U);
  rig.pump.answer(OutletState::on);
  rig.clock.advance(1ns);
  rig.pulse(11);
  EXPECT_TRUE(rig.refused("not heard of"));
  hear(Stirrer::resting);
  rig.pulse(11);
  EXPECT_TRUE(rig.refused("not settled")) << "it may have run in the gap";
}

TEST_F(ObservedStirrer, running_holds_and_settles_anew) {
  hear(Stirrer::resting);
  hear_resting_for(60min);
  hear(Stirrer::running);
  rig.pulse(11);
  EXPECT_TRUE(rig.refused("not known to rest"));
  hear(Stirrer::resting);
  rig.pulse(11);
  EXPECT_TRUE(rig.refused("not settled"));
}

TEST_F(ObservedStirrer, that_ran_and_rested_while_a_pulse_was_checked_stops_it) {
  hear(Stirrer::resting);
  hear_resting_for(60min);
  rig.pulse(11);
  rig.pump.answer(OutletState::off);
  hear(Stirrer::running);
  hear(Stirrer::resting);
  rig.store.answer(kDurably);
  EXPECT_TRUE(rig.refused("settled"));
  EXPECT_EQ(rig.pump.runs, 0);
}

TEST_F(ObservedStirrer, cannot_be_commanded) {
  rig.stir();
  EXPECT_EQ(rig.outcomes.back().result, Outcome::Result::refused);
  rig.guard.stirrer_off([&](const Outcome& o) { rig.outcomes.push_back(o); });
  EXPECT_TRUE(rig.refused("only observed"));
  rig.guard.read_stirrer([&](const Outcome& o) { rig.outcomes.push_back(o); });
  EXPECT_TRUE(rig.refused("only observed"));
}

}  // namespace
}  // namespace limegate::guard
