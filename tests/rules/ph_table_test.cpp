// Ceiling, second ceiling, climb and proof: thresholds, hysteresis and latches.

#include <gtest/gtest.h>

#include "rules/row.h"

namespace limegate::rules {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using signal::Quality;
using signal::Reason;

class PhTable : public testing::TestWithParam<Row> {};

TEST_P(PhTable, holds_for_exactly_these_reasons) {
  Scene scene;
  GetParam().spoil(scene);
  EXPECT_EQ(scene.codes(), GetParam().codes);
}

void show(Scene& s, double value) { s.known.ph.value = s.known.ph.newest = value; }
void shake(Scene& s) {
  s.known.ph.quality = Quality::uncertain;
  s.known.ph.reason = Reason::unsteady;
}
void rise(Scene& s, double by) { s.known.rise = PhChange{by}; }
double two_thirds_of_climb(const Scene& s) { return s.limits.climb.count() * (2.0 / 3.0); }

// Ceiling 8.45, resume 8.40, second ceiling 8.60, climb 0.12.
const Row kRows[] = {
    {"value_below_the_ceiling", [](Scene& s) { show(s, just_below(8.45)); }, {}},
    {"value_at_the_ceiling", [](Scene& s) { show(s, 8.45); }, {"ph-ceiling"}},
    {"value_above_the_ceiling", [](Scene& s) { show(s, 8.46); }, {"ph-ceiling"}},
    {"median_alone_below_the_ceiling", [](Scene& s) { s.known.ph.value = just_below(8.45); }, {}},
    {"median_alone_at_the_ceiling", [](Scene& s) { s.known.ph.value = 8.45; }, {"ph-ceiling"}},
    {"raw_alone_at_the_ceiling", [](Scene& s) { s.known.ph.newest = 8.45; }, {"ph-ceiling"}},
    {"raw_alone_below_the_ceiling", [](Scene& s) { s.known.ph.newest = just_below(8.45); }, {}},
    {"raw_at_the_plausible_high_trips_though_unsteady",
     [](Scene& s) {
       shake(s);
       s.known.ph.newest = 9.2;
     },
     {"ph-ceiling", "ph-unsteady"}},
    {"raw_above_the_plausible_high_does_not_trip",
     [](Scene& s) {
       shake(s);
       s.known.ph.newest = just_above(9.2);
     },
     {"ph-unsteady"}},
    {"raw_at_the_plausible_low_trips",
     [](Scene& s) {
       shake(s);
       s.limits.ph_plausible_low = s.known.ph.newest = 8.45;
     },
     {"ph-ceiling", "ph-unsteady"}},
    {"raw_that_never_came_does_not_trip",
     [](Scene& s) {
       s.known.ph = {};
       s.known.ph.newest = 9.0;
     },
     {"ph-missing"}},
    {"ceiling_is_not_a_number", [](Scene& s) { s.limits.ceiling = Ph{kNan}; }, {"ph-ceiling"}},

    {"tripped_and_still_at_resume",
     [](Scene& s) {
       s.memory.ceiling_tripped = true;
       show(s, 8.40);
     },
     {"ph-ceiling"}},
    {"tripped_and_just_below_resume",
     [](Scene& s) {
       s.memory.ceiling_tripped = true;
       show(s, just_below(8.40));
     },
     {}},
    {"tripped_and_between_resume_and_ceiling",
     [](Scene& s) {
       s.memory.ceiling_tripped = true;
       show(s, 8.43);
     },
     {"ph-ceiling"}},
    {"tripped_and_low_but_unsteady",
     [](Scene& s) {
       s.memory.ceiling_tripped = true;
       shake(s);
     },
     {"ph-ceiling", "ph-unsteady"}},
    {"tripped_and_low_but_disturbed",
     [](Scene& s) {
       s.memory.ceiling_tripped = true;
       s.known.disturbed_until = s.now + 1ns;
     },
     {"ph-ceiling", "ph-disturbed"}},
    {"tripped_and_low_and_disturbed_until_now",
     [](Scene& s) {
       s.memory.ceiling_tripped = true;
       s.known.disturbed_until = s.now;
     },
     {}},
    {"tripped_and_resume_is_not_a_number",
     [](Scene& s) {
       s.memory.ceiling_tripped = true;
       s.limits.ceiling_resume = Ph{kNan};
     },
     {"ph-ceiling"}},

    {"below_the_second_ceiling", [](Scene& s) { show(s, just_below(8.60)); }, {"ph-ceiling"}},
    {"at_the_second_ceiling", [](Scene& s) { show(s, 8.60); }, {"ph-ceiling", "ph-second-ceiling"}},
    {"above_the_second_ceiling",
     [](Scene& s) { show(s, 8.61); },
     {"ph-ceiling", "ph-second-ceiling"}},
    {"one_raw_value_does_not_latch", [](Scene& s) { s.known.ph.newest = 8.9; }, {"ph-ceiling"}},
    {"an_uncertain_median_latches",
     [](Scene& s) {
       shake(s);
       s.known.ph.value = 8.60;
     },
     {"ph-second-ceiling", "ph-unsteady"}},
    {"a_bad_median_does_not_latch",
     [](Scene& s) {
       s.known.ph.quality = Quality::bad;
       s.known.ph.reason = Reason::stale;
       s.known.ph.value = 8.60;
     },
     {"ph-stale"}},
    {"second_ceiling_is_not_a_number",
     [](Scene& s) { s.limits.second_ceiling = Ph{kNan}; },
     {"ph-second-ceiling"}},
    {"latched_before_and_low_now",
     [](Scene& s) { s.memory.second_ceiling_latched = true; },
     {"ph-second-ceiling"}},

    {"rise_below_the_climb", [](Scene& s) { rise(s, just_below(0.12)); }, {}},
    {"rise_at_the_climb", [](Scene& s) { rise(s, 0.12); }, {"ph-climbing"}},
    {"rise_above_the_climb", [](Scene& s) { rise(s, 0.13); }, {"ph-climbing"}},
    {"rise_that_nobody_watched", [](Scene& s) { s.known.rise.reset(); }, {"ph-climb-unknown"}},
    {"rise_that_nobody_watched_beside_a_bad_probe",
     [](Scene& s) {
       s.known.rise.reset();
       s.known.ph.quality = Quality::bad;
       s.known.ph.reason = Reason::stale;
     },
     {"ph-stale"}},
    {"rise_that_nobody_watched_clears_nothing",
     [](Scene& s) {
       s.known.rise.reset();
       s.memory.climb_tripped = true;
     },
     {"ph-climb-unknown", "ph-climbing"}},
    {"rise_is_not_a_number", [](Scene& s) { rise(s, kNan); }, {"ph-climbing"}},
    {"rise_is_infinite", [](Scene& s) { rise(s, kInf); }, {"ph-climbing"}},
    {"rise_is_minus_infinite", [](Scene& s) { rise(s, -kInf); }, {"ph-climbing"}},
    {"climb_is_not_a_number", [](Scene& s) { s.limits.climb = PhChange{kNan}; }, {"ph-climbing"}},
    {"climbing_and_at_two_thirds",
     [](Scene& s) {
       s.memory.climb_tripped = true;
       rise(s, two_thirds_of_climb(s));
     },
     {"ph-climbing"}},
    {"climbing_and_just_below_two_thirds",
     [](Scene& s) {
       s.memory.climb_tripped = true;
       rise(s, just_below(two_thirds_of_climb(s)));
     },
     {}},
    {"climbing_and_flat_but_unsteady",
     [](Scene& s) {
       s.memory.climb_tripped = true;
       shake(s);
     },
     {"ph-climbing", "ph-unsteady"}},
    {"climbing_and_flat_but_disturbed",
     [](Scene& s) {
       s.memory.climb_tripped = true;
       s.known.disturbed_until = s.now + 1ns;
     },
     {"ph-climbing", "ph-disturbed"}},
    {"climbing_and_flat_and_disturbed_until_now",
     [](Scene& s) {
       s.memory.climb_tripped = true;
       s.known.disturbed_until = s.now;
     },
     {}},

    // Proof after the start: 5 min.
    {"proof_never_begun", [](Scene& s) { s.memory.proven = false; }, {"not-yet-proven"}},
    {"proof_one_tick_short",
     [](Scene& s) {
       s.memory.proven = false;
       s.memory.good_since = s.now - 5min + 1ns;
     },
     {"not-yet-proven"}},
    {"proof_exactly_done",
     [](Scene& s) {
       s.memory.proven = false;
       s.memory.good_since = s.now - 5min;
     },
     {}},
    {"proof_done_by_a_tick",
     [](Scene& s) {
       s.memory.proven = false;
       s.memory.good_since = s.now - 5min - 1ns;
     },
     {}},
    {"proof_begun_in_the_future",
     [](Scene& s) {
       s.memory.proven = false;
       s.memory.good_since = s.now + 1h;
     },
     {"not-yet-proven"}},
    {"proof_broken_by_the_last_reading",
     [](Scene& s) {
       s.memory.proven = false;
       s.memory.good_since = s.now - 5min;
       s.known.temperature.quality = Quality::uncertain;
       s.known.temperature.reason = Reason::unsteady;
     },
     {"not-yet-proven", "temperature-unsteady"}},
    {"proof_broken_by_ph",
     [](Scene& s) {
       s.memory.proven = false;
       s.memory.good_since = s.now - 5min;
       shake(s);
     },
     {"not-yet-proven", "ph-unsteady"}},
};
INSTANTIATE_TEST_SUITE_P(, PhTable, testing::ValuesIn(kRows),
                         [](const auto& row) { return std::string{row.param.name}; });

TEST(Judge, proof_begins_anew_after_a_break_and_is_kept_once_done) {
  Scene scene;
  scene.memory = Memory{};
  const Instant start = scene.now;
  scene.known.stirrer.rested_since = start - 2h;
  const auto at = [&](Duration since) {
    scene.now = start + since;
    Judgement judgement = scene.judged();
    scene.memory = judgement.memory;
    return judgement.open();
  };
  EXPECT_FALSE(at(0s));
  EXPECT_FALSE(at(4min));
  scene.known.ph.quality = Quality::bad;
  scene.known.ph.reason = Reason::stale;
  EXPECT_FALSE(at(4min + 1s));
  scene.known.ph.quality = Quality::good;
  scene.known.ph.reason = Reason::none;
  EXPECT_FALSE(at(4min + 2s));
  EXPECT_FALSE(at(9min + 1s));
  EXPECT_TRUE(at(9min + 2s));
  scene.known.ph.quality = Quality::bad;
  scene.known.ph.reason = Reason::stale;
  EXPECT_FALSE(at(10min));
  scene.known.ph.quality = Quality::good;
  scene.known.ph.reason = Reason::none;
  EXPECT_TRUE(at(10min + 1s));
}

TEST(Judge, a_proof_from_the_future_begins_now) {
  Scene scene;
  scene.memory.proven = false;
  scene.memory.good_since = scene.now + 1h;
  EXPECT_EQ(scene.judged().memory.good_since, scene.now);
}

TEST(Judge, the_second_ceiling_stays_when_ph_falls) {
  Scene scene;
  show(scene, 8.65);
  scene.memory = scene.judged().memory;
  show(scene, 8.1);
  EXPECT_EQ(scene.codes(), std::vector<std::string>{"ph-second-ceiling"});
}

TEST(Judge, the_ceiling_is_shown_with_the_higher_of_raw_and_median) {
  Scene scene;
  scene.known.ph.newest = 8.47;
  const auto holds = scene.judged().holds;
  ASSERT_EQ(holds.size(), 1U);
  EXPECT_EQ(std::get<CeilingReached>(holds.front()).value->count(), 8.47);
}

struct RawRow {
  const char* name;
  double raw;
  bool closes;
};
void PrintTo(const RawRow& row, std::ostream* out) { *out << row.name; }
class RawPhTable : public testing::TestWithParam<RawRow> {};

TEST_P(RawPhTable, ends_a_pulse_only_when_plausible_and_not_below_the_ceiling) {
  EXPECT_EQ(raw_ph_closes(GetParam().raw, Limits{}), GetParam().closes);
}
INSTANTIATE_TEST_SUITE_P(, RawPhTable,
                         testing::Values(RawRow{"below", just_below(8.45), false},
                                         RawRow{"at", 8.45, true}, RawRow{"above", 8.5, true},
                                         RawRow{"at_the_plausible_high", 9.2, true},
                                         RawRow{"implausible", just_above(9.2), false},
                                         RawRow{"not_a_number", kNan, false},
                                         RawRow{"infinite", kInf, false},
                                         RawRow{"minus_infinite", -kInf, false}),
                         [](const auto& row) { return std::string{row.param.name}; });

TEST(RawPh, at_the_plausible_low_counts) {
  Limits limits;
  limits.ph_plausible_low = 8.5;
  EXPECT_TRUE(raw_ph_closes(8.5, limits));
  EXPECT_FALSE(raw_ph_closes(just_below(8.5), limits));
}

}  // namespace
}  // namespace limegate::rules
