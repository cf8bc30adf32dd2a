#include <algorithm>
#include <chrono>
#include <numeric>
#include <optional>
#include <random>
#include <set>
#include <string>
#include <vector>

#include <gtest/gtest.h>

#include "rehearsal/campaign.h"
#include "rehearsal/scene.h"

namespace limegate::rehearsal {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using Kind = Fault::Kind;

/// What comes due in a month in which nobody looks after it.
const std::set<std::string> kUpkeep{"upkeep-calibrate", "upkeep-clean", "upkeep-refill"};

TEST(Rehearsal, of_a_healthy_tank_gives_the_plan_without_an_alert_but_for_upkeep) {
  Rehearsal::Plan scene = plan(24h * 90);
  scene.tank.reactor.powder_g = 400.0;  // three grams a day: somebody refills
  const Outcome outcome = rehearse(scene);
  EXPECT_GE(outcome.counted / outcome.planned, 0.99);
  EXPECT_LE(outcome.counted / outcome.planned, 1.0 + 1e-3);
  EXPECT_NEAR(outcome.delivered / outcome.counted, 0.95, 0.01) << "the pump's true share";
  std::set<std::string> told;
  for (const Outcome::Told& one : outcome.alerts) {
    EXPECT_TRUE(told.insert(one.event.code).second) << one.event.sentence;
  }
  EXPECT_EQ(told, kUpkeep);
  EXPECT_EQ(lines(outcome.violations), "");
}

TEST(Rehearsal, with_the_same_seed_takes_the_same_course) {
  const std::vector<Fault> faults{{Kind::crash, 30h, 5s, 0}, {Kind::ph_offset, 50h, 6h, 0.3}};
  const Outcome one = rehearse(plan(72h), faults);
  const Outcome two = rehearse(plan(72h), faults);
  EXPECT_EQ(one.delivered.count(), two.delivered.count());
  EXPECT_EQ(one.ph_high, two.ph_high);
  EXPECT_EQ(one.alkalinity_end, two.alkalinity_end);
  EXPECT_EQ(one.held, two.held);
  Rehearsal::Plan other = plan(72h);
  other.tank.seed = 2;
  EXPECT_NE(rehearse(other, faults).held, one.held);
}

// Everything at once, at random: a short campaign. The command replays a failing seed:
// limegate rehearse FILE --days 10 --seed SEED --seeds 1
TEST(Campaign, of_random_faults_breaks_no_promise) {
  const auto ran = run_campaign(plan(24h * 10), 1, 12, [](std::size_t) {});
  ASSERT_TRUE(ran) << ran.error();
  const CampaignOutcome& sum = *ran;
  EXPECT_EQ(sum.courses, 12U);
  for (const auto& [seed, promise] : sum.broken) {
    ADD_FAILURE() << promise << ", seed " << seed;
  }
  EXPECT_GT(sum.restarts, 10U);
  EXPECT_GT(sum.pulses, 500U);
}

// Threads end in any order, and the report of a campaign must not tell: of two that came equally
// near to their bounds, as all that did nothing, one must be shown.
TEST(Campaign, shows_the_same_exposure_in_whatever_order_its_courses_end) {
  const auto exposed = [](double worst, double bound) {
    return Exposed{1, 0, {worst, bound}, {worst / 2, bound / 2}, {worst, bound}, std::nullopt};
  };
  for (std::vector<Exposed> courses :
       {std::vector{exposed(0, 3), exposed(0, 5), exposed(0, 4)},
        std::vector{exposed(1, 3), exposed(0, 7), exposed(3, 9), exposed(2, 6)}}) {
    std::vector<std::size_t> order(courses.size());
    std::iota(order.begin(), order.end(), 0U);
    std::optional<Exposed> first;
    do {
      Exposed sum;
      for (const std::size_t n : order) {
        sum.add(courses[n]);
      }
      first = first.value_or(sum);
      EXPECT_EQ(sum.millilitres.bound, first->millilitres.bound);
      EXPECT_EQ(sum.powder_g.bound, first->powder_g.bound);
      EXPECT_EQ(sum.rise.bound, first->rise.bound);
      EXPECT_EQ(sum.rise.worst, first->rise.worst);
    } while (std::next_permutation(order.begin(), order.end()));
  }
}

// A campaign of 50 tank-years found it: the relay was told of while the pump could not flow yet.
TEST(Rehearsal, a_rate_that_is_wrong_by_ten_from_the_first_day_is_told_and_halved) {
  Rehearsal::Plan wrong = plan(24h * 12);
  // 500 mL a day that are truly 5000: the keeper of our scenario misread a decimal point.
  wrong.settings.plan.pump_rate = MillilitresPerMinute{5.0};
  wrong.settings.plan.day_volume = Millilitres{500.0};
  wrong.tank.pump_rate = MillilitresPerMinute{50.0};
  wrong.tank.aquarium.demand_per_day = Dkh{1.0};
  std::optional<double> learned;
  std::string halved;
  wrong.each_second = [&](const station::Station& core, Moment now) {
    if (now.wall.time_since_epoch() % 1h == 0s) {
      const station::Status status = core.status(now);
      learned = status.usual_effect;
      halved = status.halved;
    }
  };
  const Outcome outcome = rehearse(wrong);
  const auto told = std::find_if(
      outcome.alerts.begin(), outcome.alerts.end(),
      [](const Outcome::Told& one) { return one.event.code == "dose-beyond-chemistry"; });
  ASSERT_NE(told, outcome.alerts.end());
  EXPECT_LT(told->at, 48h);
  EXPECT_FALSE(learned) << "what no sound station does is not usual";
  EXPECT_NE(halved.find("Measure what the pump gives"), std::string::npos) << halved;
  EXPECT_LT(outcome.counted, Millilitres{0.6 * 500.0 * 12});
  EXPECT_GT(outcome.counted, Millilitres{0.3 * 500.0 * 12}) << "never stopped by it";
}

TEST(Rehearsal, a_welded_relay_on_a_dead_pump_is_told_of_before_anything_flows) {
  const Outcome outcome = rehearse(
      plan(36h), {{Kind::pump_dead, 20h, 60min, 0}, {Kind::pump_stuck_on, 20h + 55min, 10min, 0}});
  EXPECT_EQ(lines(outcome.violations), "");
  EXPECT_EQ(outcome.exposures.at(Kind::pump_stuck_on).mixed, 1U);
}

// Found by a campaign too: after a start nobody can compare with what was shown before it.
TEST(Rehearsal, a_frozen_probe_is_stuck_from_when_the_program_saw_it_first) {
  const Outcome outcome = rehearse(plan(30h), {{Kind::ph_stuck, 20h, 9h, 0},
                                               {Kind::crash, 20h + 20min, 5s, 0},
                                               {Kind::ph_silent, 20h + 20min, 80min, 0}});
  EXPECT_EQ(lines(outcome.violations), "");
  EXPECT_GT(outcome.held.at("ph-stuck"), 1h);
}

TEST(Campaign, draws_the_same_faults_for_the_same_seed) {
  const auto draw = [](std::uint64_t seed) {
    std::string text;
    for (const Fault& fault : random_faults(seed, 24h * 30, plan(24h).settings)) {
      text += about(fault.kind).name + std::to_string(fault.at / 1s) + " ";
    }
    return text;
  };
  EXPECT_EQ(draw(7), draw(7));
  EXPECT_NE(draw(7), draw(8));
  // As the standard fixes std::mt19937_64 (26.6.6.2, its 10000th value), so on every machine.
  std::mt19937_64 standard;
  standard.discard(9999);
  EXPECT_EQ(standard(), 9981545732273789042U);
}

struct BadText {
  const char* name;
  const char* text;
  const char* says;
};
std::ostream& operator<<(std::ostream& out, const BadText& row) { return out << row.name; }
const BadText kBadTexts[] = {{"empty", "", "no '@'"},
                             {"no_time", "crash", "no '@'"},
                             {"unknown", "meteor@3h", "there are: ph-silent"},
                             {"no_unit", "crash@3", "not a time"},
                             {"negative_time", "crash@-3h", "not a time"},
                             {"beyond_all_days", "crash@99999d", "not a time"},
                             {"after_the_end", "crash@7d", "after the 7.0 days"},
                             {"no_duration", "ph-silent@3h:0s", "no time"},
                             {"bad_duration", "crash@3h:soon", "not a time"},
                             {"bad_value", "ph-offset@3h=much", "not a number"},
                             {"not_a_number", "ph-offset@3h=nan", "not a number"}};
class BadFaultTable : public testing::TestWithParam<BadText> {};
INSTANTIATE_TEST_SUITE_P(Rows, BadFaultTable, testing::ValuesIn(kBadTexts),
                         [](const auto& row) { return std::string{row.param.name}; });

TEST_P(BadFaultTable, is_refused_with_what_there_is) {
  const auto fault = parse_fault(GetParam().text, 24h * 7);
  ASSERT_FALSE(fault);
  EXPECT_NE(fault.error().find(GetParam().says), std::string::npos) << fault.error();
}

// Found by an attack: the world goes in whole seconds, and what began between two never did.
TEST(FaultText, is_read_in_whole_seconds) {
  for (const char* text :
       {"ph-silent@8.2h:16.4h", "ph-silent@2.05d:4.35d", "ph-silent@30.0001h:1.5s"}) {
    const auto fault = parse_fault(text, 24h * 60);
    ASSERT_TRUE(fault) << fault.error();
    EXPECT_EQ(fault->at % 1s, 0s) << text;
    EXPECT_EQ(fault->lasting % 1s, 0s) << text;
  }
  EXPECT_EQ(parse_fault("ph-silent@8.2h:16.4h", 24h * 60)->at, 29520s);
}

TEST(FaultText, is_refused_where_nothing_can_go_wrong_by_so_much) {
  for (const char* text : {"pump-switched@1h=1e300", "pump-fast@1h=-3", "siphon@1h=-5",
                           "crash@1h=1e9", "limewater-spoiled@1h=101", "ph-offset@1h=-1e9"}) {
    const auto fault = parse_fault(text, 24h);
    ASSERT_FALSE(fault) << text;
    EXPECT_NE(fault.error().find("is needed"), std::string::npos) << fault.error();
  }
  EXPECT_TRUE(parse_fault("ph-offset@1h=-0.3", 24h));
  EXPECT_TRUE(parse_fault("limewater-spoiled@1h=100", 24h));
}

TEST(FaultText, is_written_in_days_and_hours) {
  EXPECT_EQ(to_text({Fault::Kind::ph_offset, 36h, 2h, 0.3}), "ph-offset@36h:2h=0.3");
  EXPECT_EQ(to_text({Fault::Kind::ph_stuck, 48h, 90min, 0}), "ph-stuck@2d:90min=0");
  EXPECT_EQ(to_text({Fault::Kind::hand_dosed, 0s, 0s, 0.5}), "hand-dosed@0h=0.5");
  EXPECT_EQ(to_text({Fault::Kind::crash, 61s, 5s, 1}), "crash@61s:5s=1");
}

TEST(FaultText, is_written_as_it_is_read) {
  for (const Fault& fault : random_faults(3, 24h * 60, plan(24h).settings)) {
    const auto again = parse_fault(to_text(fault), 24h * 60);
    ASSERT_TRUE(again) << again.error();
    EXPECT_EQ(to_text(*again), to_text(fault));
  }
}

TEST(FaultText, is_read_with_and_without_its_parts) {
  const auto whole = parse_fault("ph-offset@36h:90min=-0.25", 24h * 7);
  ASSERT_TRUE(whole);
  EXPECT_EQ(whole->kind, Kind::ph_offset);
  EXPECT_EQ(whole->at, 36h);
  EXPECT_EQ(whole->lasting, 90min);
  EXPECT_EQ(whole->value, -0.25);
  const auto bare = parse_fault("crash@2d", 24h * 7);
  ASSERT_TRUE(bare);
  EXPECT_EQ(bare->at, 48h);
  EXPECT_EQ(bare->lasting, about(Kind::crash).lasting);
}

// A pulse of 24.7 s ends within a second, not at its end.
TEST(Untimed, a_boards_pulses_flow_as_they_were_commanded) {
  Rehearsal::Plan untimed = plan(24h * 6);
  untimed.boards.pump_timed = false;
  untimed.settings.pump_ends = station::RunEnds::by_us;
  const Outcome outcome = rehearse(untimed);
  EXPECT_EQ(lines(outcome.violations), "");
  EXPECT_NEAR(outcome.counted.count(), outcome.planned.count(), 0.01 * outcome.planned.count());
  EXPECT_EQ(outcome.alerts.size(), 0U);
}

}  // namespace
}  // namespace limegate::rehearsal
