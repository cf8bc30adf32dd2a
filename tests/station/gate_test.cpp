// The verdict, alone: a snapshot in, holds, latches and events out.

#include "station/gate.h"

#include <algorithm>

#include <gtest/gtest.h>

#include "station/part.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

/// A gate that is open, once it was judged for long enough.
class GateAlone : public testing::Test {
 protected:
  GateAlone() {
    known.ph.value = known.ph.newest = 8.2;
    known.temperature.value = known.temperature.newest = 25.0;
    for (signal::Reading* reading : {&known.ph, &known.temperature}) {
      reading->quality = signal::Quality::good;
      reading->reason = signal::Reason::none;
      reading->age = 1s;
    }
    known.pump_flow = rules::Snapshot::PumpFlow::none;
    known.stirrer = {rules::StirrerKnown::State::resting, kStart.mono - 2h};
    known.pump_outlet = known.stirrer_outlet = rules::OutletKnown::as_commanded;
    known.ledger_fault.reset();
    known.rise = PhChange{0.0};
    (void)judge();
    now += 10min;
    EXPECT_TRUE(judge().open);
  }
  Gate::Verdict judge() { return gate.judge(after(now), known, effects); }
  void show(double ph) { known.ph.value = known.ph.newest = ph; }
  [[nodiscard]] std::vector<std::string> stored(StoreLatch::To to) const {
    std::vector<std::string> codes;
    for (const Effect& effect : effects) {
      const auto* latch = std::get_if<StoreLatch>(&effect);
      if (latch != nullptr && latch->to == to) {
        codes.push_back(latch->code);
      }
    }
    return codes;
  }

  Duration now{};
  rules::Snapshot known;
  Effects effects;
  Gate gate{part_settings(), {}, kStart.mono};
};

TEST_F(GateAlone, closed_by_one_raw_value_it_stays_so_until_the_ph_has_come_down) {
  EXPECT_FALSE(gate.closes(8.44));
  EXPECT_TRUE(gate.closes(8.45));
  EXPECT_EQ(gate.teaches(), rules::Teaches::no) << "before any judgement";
  show(8.42);
  EXPECT_FALSE(judge().open);
  EXPECT_EQ(raised(effects, "held-ph-ceiling"), 1);
  show(8.39);
  EXPECT_TRUE(judge().open);
  EXPECT_EQ(raised(effects, "cleared-ph-ceiling"), 1);
  EXPECT_EQ(gate.teaches(), rules::Teaches::yes);
}

TEST_F(GateAlone, what_waits_for_a_person_is_stored_once_and_released_once_its_cause_is_gone) {
  show(8.65);
  EXPECT_TRUE(judge().ends_pulse);
  (void)judge();
  EXPECT_EQ(stored(StoreLatch::To::latched), std::vector<std::string>{"ph-second-ceiling"});
  EXPECT_TRUE(gate.stirrer_rests());
  EXPECT_TRUE(gate.water_holds());
  const auto refused = gate.release("ph-second-ceiling", known, effects);
  EXPECT_EQ(refused.answer.verdict, Answer::Verdict::refused);
  EXPECT_FALSE(refused.released);
  show(8.2);
  EXPECT_FALSE(judge().open) << "it waits";
  const auto released = gate.release("ph-second-ceiling", known, effects);
  EXPECT_EQ(released.answer.verdict, Answer::Verdict::accepted);
  ASSERT_TRUE(released.released);
  EXPECT_EQ(rules::code_of(*released.released), "ph-second-ceiling");
  EXPECT_EQ(stored(StoreLatch::To::released), std::vector<std::string>{"ph-second-ceiling"});
  EXPECT_FALSE(gate.stirrer_rests());
  EXPECT_TRUE(judge().open);
}

TEST_F(GateAlone, switched_off_it_is_held_and_the_stirrer_rests) {
  gate.switch_off(effects);
  gate.switch_off(effects);
  EXPECT_EQ(stored(StoreLatch::To::latched), std::vector<std::string>{"switched-off"});
  EXPECT_TRUE(gate.stirrer_rests());
  EXPECT_FALSE(judge().open);
}

TEST_F(GateAlone, what_is_asked_ahead_changes_nothing) {
  rules::Snapshot high = known;
  high.ph.value = high.ph.newest = 8.65;
  EXPECT_FALSE(gate.holds_for(after(now).mono, high).empty());
  EXPECT_TRUE(gate.latches().empty());
  EXPECT_TRUE(gate.holds().empty());
}

TEST_F(GateAlone, a_spent_allowance_does_not_end_what_runs) {
  known.next_pulse = Millilitres{1000.0};
  const Gate::Verdict verdict = judge();
  EXPECT_FALSE(verdict.open);
  EXPECT_FALSE(verdict.ends_pulse);
}

TEST_F(GateAlone, goes_on_from_what_an_earlier_run_saw_only_where_it_can_judge_it) {
  SeenBefore seen{};
  seen.climb_at_rest = rules::Memory::AtRest{kStart.mono, PhChange{0.1}};
  seen.risen = seen.disagreed = true;
  Gate blind{part_settings(), {}, kStart.mono};
  blind.take_up(seen, {false, false, true});
  EXPECT_FALSE(blind.holds_beside_course());
  Gate seeing{part_settings(), {}, kStart.mono};
  seeing.take_up(seen, {false, true, true});
  EXPECT_TRUE(seeing.holds_beside_course());
  EXPECT_TRUE(seeing.risen());
  SeenBefore left{};
  seeing.leave(left);
  EXPECT_TRUE(left.risen && left.climb_at_rest);
  EXPECT_FALSE(left.disagreed) << "there is one probe";
}

}  // namespace
}  // namespace limegate::station
