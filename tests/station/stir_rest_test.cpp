// When the stirrer must rest, and an observed one that is not heard to keep its rhythm.

#include <gtest/gtest.h>

#include "station/bench.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using Command = Bench::Command;
using Result = Bench::Result;
using State = rules::StirrerKnown::State;

struct Flowing {
  const char* name;
  const char* latch;
};
void PrintTo(const Flowing& row, std::ostream* out) { *out << row.name; }

class StirrerRests : public testing::TestWithParam<Flowing> {};

TEST_P(StirrerRests, while_limewater_may_flow_uncommanded_or_everything_was_switched_off) {
  History history;
  history.latches = {GetParam().latch};
  Bench bench{Bench::usual(), history};
  bench.run(6h);
  EXPECT_EQ(bench.count<AppendStir>(), 0U);
  EXPECT_EQ(bench.core.status(bench.now).next_stir_in, 0s) << "overdue, and not below nothing";
  EXPECT_EQ(bench.command(StirNow{}).verdict, Answer::Verdict::refused);
  ASSERT_EQ(bench.command(Release{GetParam().latch}).verdict, Answer::Verdict::accepted);
  bench.run(1min);
  EXPECT_EQ(bench.count<AppendStir>(), 1U) << "overdue, it comes at once";
}

INSTANTIATE_TEST_SUITE_P(Latches, StirrerRests,
                         testing::Values(Flowing{"second_ceiling", "ph-second-ceiling"},
                                         Flowing{"climb_goes_on", "ph-climb-goes-on"},
                                         Flowing{"pump_stuck", "pump-stuck-on"},
                                         Flowing{"pump_found", "pump-found-on"},
                                         Flowing{"switched_off", "switched-off"}),
                         [](const auto& row) { return row.param.name; });

TEST(StirrerRests, a_latch_that_says_nothing_of_a_flow_keeps_the_rhythm) {
  History history;
  history.latches = {"effect-too-large"};
  Bench bench{Bench::usual(), history};
  bench.run(6h);
  EXPECT_GE(bench.count<AppendStir>(), 2U);
}

TEST(StirrerRests, a_stir_under_way_ends_at_once) {
  Bench bench;
  ASSERT_TRUE(bench.until<AppendStir>());
  bench.run(2min);
  ASSERT_GT(bench.stirrer_until, bench.now.mono);
  bench.ph = 8.7;
  bench.run(1min);
  ASSERT_TRUE(bench.held_for("ph-second-ceiling"));
  EXPECT_LE(bench.stirrer_until, bench.now.mono);
  EXPECT_TRUE(bench.newest<CloseStir>());
}

TEST(StirrerRests, while_the_pumps_state_is_unknown) {
  Bench bench;
  ASSERT_TRUE(bench.until<AppendStir>());
  bench.run(2min);
  bench.pump_answers = false;
  bench.run(40s);
  ASSERT_TRUE(bench.held_for("pump-unconfirmed"));
  bench.run(2s);
  EXPECT_LE(bench.stirrer_until, bench.now.mono);
}

TEST(StirrerRests, of_an_observed_one_the_alert_says_to_unplug_it) {
  Bench bench{Bench::observed()};
  bench.ph = 8.7;
  bench.run(1min);
  EXPECT_NE(bench.newest_event("held-ph-second-ceiling").sentence.find("Unplug the stirrer"),
            std::string::npos);
}

class ObservedRhythm : public testing::Test {
 protected:
  /// The stirrer's input shows this each second.
  void show(Bench& bench, bool running, Duration lasting) {
    for (const Instant end = bench.now.mono + lasting; bench.now.mono < end;) {
      bench.see(StirrerSample{running});
      bench.second();
    }
  }
  void cycle(Bench& bench) {
    show(bench, true, 15min);
    show(bench, false, 105min);
  }
};

TEST_F(ObservedRhythm, one_that_keeps_its_rhythm_is_never_overdue) {
  Bench bench{Bench::observed()};
  for (int i = 0; i < 12; ++i) {
    cycle(bench);
  }
  EXPECT_EQ(bench.raised("held-stir-overdue") + bench.raised("held-stir-endless"), 0U);
  EXPECT_GT(bench.count<RunEffect>(), 10U);
}

TEST_F(ObservedRhythm,
       an_input_that_sticks_at_rest_holds_after_a_cycle_too_many_and_a_person_is_told) {
  Bench bench{Bench::observed()};
  cycle(bench);
  show(bench, false, 2h - 2s);  // from the begin of the last stir: just below two cycles
  EXPECT_FALSE(bench.held_for("stir-overdue"));
  show(bench, false, 10s);
  EXPECT_TRUE(bench.held_for("stir-overdue"));
  EXPECT_EQ(bench.core.status(bench.now).stirrer, State::unknown);
  const std::size_t runs = bench.count<RunEffect>();
  show(bench, false, 15min);
  EXPECT_EQ(bench.count<RunEffect>(), runs);
  EXPECT_EQ(bench.raised("long-stir-overdue"), 1U);
  show(bench, true, 15min);
  EXPECT_FALSE(bench.held_for("stir-overdue"));
  show(bench, false, 61min);
  EXPECT_EQ(bench.core.status(bench.now).stirrer, State::resting);
}

TEST_F(ObservedRhythm, no_restart_makes_an_overdue_stir_young_again) {
  History history;
  history.dosed_since_stir = 3h + 50min;
  Bench bench{Bench::observed(), history};
  show(bench, false, 9min);
  EXPECT_FALSE(bench.held_for("stir-overdue"));
  show(bench, false, 2min);
  EXPECT_TRUE(bench.held_for("stir-overdue"));
}

TEST_F(ObservedRhythm, one_that_never_ends_is_told) {
  Bench bench{Bench::observed()};
  show(bench, true, 2h - 2s);
  EXPECT_FALSE(bench.held_for("stir-endless"));
  show(bench, true, 10s);
  EXPECT_TRUE(bench.held_for("stir-endless"));
  show(bench, true, 11min);
  EXPECT_EQ(bench.raised("long-stir-endless"), 1U);
}

}  // namespace
}  // namespace limegate::station
