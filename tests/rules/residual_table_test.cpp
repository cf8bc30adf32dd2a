// What is left of pH beside its usual course: an unusual climb, and one that goes on at rest.

#include <gtest/gtest.h>

#include "rules/row.h"

namespace limegate::rules {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using signal::Quality;
using signal::Reason;

void climb(Scene& s, double by) { s.known.residual = Residual{PhChange{0.02}, PhChange{by}}; }
void trip(Scene& s) { s.memory.unusual_climb_tripped = true; }
/// An unusual climb while the pump rests: since so long, and so far.
void at_rest(Scene& s, Duration since, double further) {
  climb(s, 0.1);
  trip(s);
  s.known.pump_flow = Snapshot::PumpFlow::none;
  s.memory.climb_at_rest = Memory::AtRest{s.now - since, PhChange{0.0}};
  s.known.residual->value = PhChange{further};
}
double two_thirds(const Scene& s) { return s.limits.unusual_climb.count() * (2.0 / 3.0); }

/// Tripped, and since then, so long ago, it can't be seen.
void not_seen(Scene& s, Duration since) {
  trip(s);
  s.memory.residual_unseen_since = s.now - since;
}

class ResidualTable : public testing::TestWithParam<Row> {};

TEST_P(ResidualTable, holds_for_exactly_these_reasons) {
  Scene scene;
  GetParam().spoil(scene);
  EXPECT_EQ(scene.codes(), GetParam().codes);
}

// Unusual climb 0.088, goes on by 0.05 for 15 min.
const Row kRows[] = {
    {"not_learned_yet", [](Scene&) {}, {}},
    {"below_the_limit", [](Scene& s) { climb(s, just_below(0.088)); }, {}},
    {"at_the_limit", [](Scene& s) { climb(s, 0.088); }, {"ph-unusual-climb"}},
    {"above_the_limit", [](Scene& s) { climb(s, 0.1); }, {"ph-unusual-climb"}},
    {"not_a_number", [](Scene& s) { climb(s, kNan); }, {"ph-unusual-climb"}},
    {"infinite", [](Scene& s) { climb(s, kInf); }, {"ph-unusual-climb"}},
    {"minus_infinite", [](Scene& s) { climb(s, -kInf); }, {"ph-unusual-climb"}},
    {"the_limit_is_not_a_number",
     [](Scene& s) {
       climb(s, 0.0);
       s.limits.unusual_climb = PhChange{kNan};
     },
     {"ph-unusual-climb"}},
    {"tripped_and_still_at_two_thirds",
     [](Scene& s) {
       trip(s);
       climb(s, two_thirds(s));
     },
     {"ph-unusual-climb"}},
    {"tripped_and_just_below_two_thirds",
     [](Scene& s) {
       trip(s);
       climb(s, just_below(two_thirds(s)));
     },
     {}},
    {"tripped_and_low_but_unsteady",
     [](Scene& s) {
       trip(s);
       climb(s, 0.0);
       s.known.ph.quality = Quality::uncertain;
       s.known.ph.reason = Reason::unsteady;
     },
     {"ph-unsteady", "ph-unusual-climb"}},
    {"tripped_and_low_but_disturbed",
     [](Scene& s) {
       trip(s);
       climb(s, 0.0);
       s.known.disturbed_until = s.now + 1ns;
     },
     {"ph-disturbed", "ph-unusual-climb"}},
    {"tripped_and_not_seen_now", [](Scene& s) { trip(s); }, {"ph-unusual-climb"}},
    // Beside a course that was lost it would stand for ever.
    {"tripped_and_not_seen_for_almost_half_a_day",
     [](Scene& s) { not_seen(s, 12h - 1ns); },
     {"ph-unusual-climb"}},
    {"tripped_and_not_seen_for_half_a_day", [](Scene& s) { not_seen(s, 12h); }, {}},
    {"tripped_and_not_seen_from_the_future_on",
     [](Scene& s) { not_seen(s, -1ns); },
     {"ph-unusual-climb"}},
    {"not_seen_for_long_and_disturbed",
     [](Scene& s) {
       not_seen(s, 24h);
       s.known.disturbed_until = s.now + 1ns;
     },
     {"ph-disturbed", "ph-unusual-climb"}},
    {"not_seen_for_long_and_climbing",
     [](Scene& s) {
       not_seen(s, 24h);
       s.known.rise = s.limits.climb;
     },
     {"ph-climbing", "ph-unusual-climb"}},
    {"not_seen_for_long_and_nobody_watched_the_climb",
     [](Scene& s) {
       not_seen(s, 24h);
       s.known.rise.reset();
     },
     {"ph-climb-unknown", "ph-unusual-climb"}},
    {"goes_on_but_not_for_long",
     [](Scene& s) { at_rest(s, 15min - 1ns, 0.2); },
     {"ph-unusual-climb"}},
    {"goes_on_for_long_but_not_far",
     [](Scene& s) { at_rest(s, 15min, just_below(0.05)); },
     {"ph-unusual-climb"}},
    {"goes_on_as_far_and_as_long",
     [](Scene& s) { at_rest(s, 15min, 0.05); },
     {"ph-climb-goes-on", "ph-unusual-climb"}},
    {"goes_on_and_is_not_a_number",
     [](Scene& s) { at_rest(s, 15min, kNan); },
     {"ph-climb-goes-on", "ph-unusual-climb"}},
    {"began_in_the_future", [](Scene& s) { at_rest(s, -1ns, 0.2); }, {"ph-unusual-climb"}},
    {"goes_on_while_limewater_may_flow",
     [](Scene& s) {
       at_rest(s, 1h, 0.2);
       s.known.pump_flow = Snapshot::PumpFlow::possible;
     },
     {"ph-unusual-climb"}},
    {"goes_on_unseen",
     [](Scene& s) {
       at_rest(s, 1h, 0.2);
       s.known.residual.reset();
       s.known.ph.quality = Quality::bad;
       s.known.ph.reason = Reason::stuck;
     },
     {"ph-stuck", "ph-unusual-climb"}},
    {"latched_before_and_calm_now",
     [](Scene& s) {
       climb(s, 0.0);
       s.memory.climb_goes_on_latched = true;
     },
     {"ph-climb-goes-on"}},
};
INSTANTIATE_TEST_SUITE_P(Rows, ResidualTable, testing::ValuesIn(kRows),
                         [](const auto& row) { return row.param.name; });

TEST(Residual, a_climb_at_rest_is_counted_from_when_both_began) {
  Scene scene;
  climb(scene, 0.09);
  scene.known.pump_flow = Snapshot::PumpFlow::none;
  scene.memory = scene.judged().memory;
  ASSERT_TRUE(scene.memory.climb_at_rest);
  EXPECT_EQ(scene.memory.climb_at_rest->since, scene.now);
  EXPECT_EQ(scene.memory.climb_at_rest->lowest, PhChange{0.02});
  // A limit that trips earlier must not latch later: the lowest value since counts.
  scene.known.residual->value = PhChange{-0.01};
  scene.memory = scene.judged().memory;
  EXPECT_EQ(scene.memory.climb_at_rest->lowest, PhChange{-0.01});
  scene.known.residual.reset();
  EXPECT_TRUE(scene.judged().memory.climb_at_rest) << "a gap of the probe is no end";
  scene.known.pump_flow = Snapshot::PumpFlow::possible;
  EXPECT_FALSE(scene.judged().memory.climb_at_rest);
}

}  // namespace
}  // namespace limegate::rules
