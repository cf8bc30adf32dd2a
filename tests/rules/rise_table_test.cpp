// pH above its reference of undosed days.

#include <gtest/gtest.h>

#include "rules/row.h"

namespace limegate::rules {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only
using signal::Quality;

void rise(Scene& s, double by) { s.known.above_reference = PhChange{by}; }
void trip(Scene& s) { s.memory.risen_tripped = true; }
double resume(const Scene& s) { return s.limits.rise.count() * 0.75; }

/// Tripped, and since then, so long ago, it can't be seen.
void not_seen(Scene& s, Duration since) {
  trip(s);
  s.memory.rise_unseen_since = s.now - since;
}

class RiseTable : public testing::TestWithParam<Row> {};

TEST_P(RiseTable, holds_for_exactly_these_reasons) {
  Scene scene;
  GetParam().spoil(scene);
  EXPECT_EQ(scene.codes(), GetParam().codes);
}

// Limit 0.20, over below 0.15.
const Row kRows[] = {
    {"no_reference", [](Scene&) {}, {}},
    {"below_the_limit", [](Scene& s) { rise(s, just_below(0.20)); }, {}},
    {"at_the_limit", [](Scene& s) { rise(s, 0.20); }, {"ph-risen"}},
    {"above_the_limit", [](Scene& s) { rise(s, 0.21); }, {"ph-risen"}},
    {"below_the_reference", [](Scene& s) { rise(s, -0.30); }, {}},
    {"not_a_number", [](Scene& s) { rise(s, kNan); }, {"ph-risen"}},
    {"infinite", [](Scene& s) { rise(s, kInf); }, {"ph-risen"}},
    {"minus_infinite", [](Scene& s) { rise(s, -kInf); }, {"ph-risen"}},
    {"the_limit_is_not_a_number",
     [](Scene& s) {
       rise(s, 0.0);
       s.limits.rise = PhChange{kNan};
     },
     {"ph-risen"}},
    {"tripped_and_at_the_resume_value",
     [](Scene& s) {
       trip(s);
       rise(s, resume(s));
     },
     {"ph-risen"}},
    {"tripped_and_just_below_the_resume_value",
     [](Scene& s) {
       trip(s);
       rise(s, just_below(resume(s)));
     },
     {}},
    {"tripped_and_not_seen_now", [](Scene& s) { trip(s); }, {"ph-risen"}},
    // Beside a course that was lost it would stand for ever.
    {"tripped_and_not_seen_for_almost_half_a_day",
     [](Scene& s) { not_seen(s, 12h - 1ns); },
     {"ph-risen"}},
    {"tripped_and_not_seen_for_half_a_day", [](Scene& s) { not_seen(s, 12h); }, {}},
    {"tripped_and_not_seen_from_the_future_on", [](Scene& s) { not_seen(s, -1ns); }, {"ph-risen"}},
    {"not_seen_for_long_and_disturbed",
     [](Scene& s) {
       not_seen(s, 24h);
       s.known.disturbed_until = s.now + 1ns;
     },
     {"ph-disturbed", "ph-risen"}},
    {"not_seen_for_long_and_climbing",
     [](Scene& s) {
       not_seen(s, 24h);
       s.known.rise = s.limits.climb;
     },
     {"ph-climbing", "ph-risen"}},
    {"not_seen_for_long_and_nobody_watched_the_climb",
     [](Scene& s) {
       not_seen(s, 24h);
       s.known.rise.reset();
     },
     {"ph-climb-unknown", "ph-risen"}},
    {"tripped_and_low_while_disturbed",
     [](Scene& s) {
       trip(s);
       rise(s, 0.0);
       s.known.disturbed_until = s.now + 1ns;
     },
     {"ph-disturbed", "ph-risen"}},
    {"tripped_and_low_by_an_uncertain_reading",
     [](Scene& s) {
       trip(s);
       rise(s, 0.0);
       s.known.ph.quality = Quality::uncertain;
       s.known.ph.reason = signal::Reason::unsteady;
     },
     {"ph-risen", "ph-unsteady"}},
};
INSTANTIATE_TEST_SUITE_P(, RiseTable, testing::ValuesIn(kRows),
                         [](const auto& row) { return std::string{row.param.name}; });

TEST(Rise, that_cannot_be_seen_says_so) {
  EXPECT_NE(sentence_of(Risen{std::nullopt, PhChange{0.2}, PhChange{0.15}}).find("unknown amount"),
            std::string::npos);
}

TEST(Rise, ends_a_pulse_and_clears_by_itself) {
  const Hold hold = Risen{PhChange{0.2}, PhChange{0.2}, PhChange{0.15}};
  EXPECT_EQ(clears(hold), Clears::by_itself);
  EXPECT_EQ(reach(hold), Reach::ends_pulse);
}

}  // namespace
}  // namespace limegate::rules
