#include "app/repetition.h"

#include <gtest/gtest.h>

namespace limegate::app {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

const Instant kStart{1000s};
constexpr std::size_t kMost = Repetition::kMost;
constexpr Duration kWindow = Repetition::kWindow;

station::Event event(station::Severity severity = station::Severity::warning) {
  return {WallTime{5000s}, severity, "probe-fault", "The pH probe does not answer."};
}

/// How many of `times` events, all at one moment, pass.
std::size_t passing(Repetition& repetition, std::size_t times, Instant now) {
  std::size_t passed = 0;
  for (std::size_t i = 0; i < times; ++i) {
    passed += repetition.passes("reef", event(), now) ? 1U : 0U;
  }
  return passed;
}

std::vector<Repetition::LeftOut> at(Repetition& repetition, Instant now) {
  // The wall clock goes its own way, here backwards: no window may hang on it.
  return repetition.ended({now, WallTime{9000s} - (now - kStart)});
}

/// `times` events at the start; `asked` later the class is asked what to tell.
struct Case {
  const char* name;
  std::size_t times;
  Duration asked;
  std::size_t passed;
  const char* told;  ///< the sentence; null: nothing is told
};
void PrintTo(const Case& row, std::ostream* out) { *out << row.name; }

class RepetitionTable : public testing::TestWithParam<Case> {};

TEST_P(RepetitionTable, lets_the_first_through_and_counts_the_others) {
  const Case& row = GetParam();
  Repetition repetition;
  EXPECT_EQ(passing(repetition, row.times, kStart), row.passed);
  const auto told = at(repetition, kStart + row.asked);
  ASSERT_EQ(told.size(), row.told == nullptr ? 0U : 1U);
  if (row.told != nullptr) {
    EXPECT_EQ(told[0].station, "reef");
    EXPECT_EQ(told[0].event.code, "repeated-probe-fault");
    EXPECT_EQ(told[0].event.severity, station::Severity::warning);
    EXPECT_EQ(told[0].event.at, WallTime{9000s} - row.asked);
    EXPECT_EQ(told[0].event.sentence, row.told);
  }
}

const Case kCases[] = {
    {"one_below_the_most_all_pass", kMost - 1, kWindow, kMost - 1, nullptr},
    {"at_the_most_all_pass", kMost, kWindow, kMost, nullptr},
    {"one_above_the_most_is_counted", kMost + 1, kWindow, kMost,
     "The pH probe does not answer. ... 1 more like it within 10 min."},
    {"many_are_one_sentence", kMost + 57, kWindow, kMost,
     "The pH probe does not answer. ... 57 more like it within 10 min."},
    {"nothing_is_told_before_the_window_ends", kMost + 1, kWindow - 1ns, kMost, nullptr},
    {"a_window_that_is_asked_late_is_told_late", kMost + 1, kWindow + 1s, kMost,
     "The pH probe does not answer. ... 1 more like it within 10 min."},
};
INSTANTIATE_TEST_SUITE_P(, RepetitionTable, testing::ValuesIn(kCases),
                         [](const auto& row) { return row.param.name; });

TEST(Repetition, a_new_window_begins_with_the_first_event_after_a_calm_one) {
  Repetition repetition;
  EXPECT_EQ(passing(repetition, kMost, kStart), kMost);
  EXPECT_TRUE(at(repetition, kStart + kWindow).empty());
  EXPECT_EQ(passing(repetition, kMost + 1, kStart + kWindow), kMost);
  EXPECT_TRUE(at(repetition, kStart + 2 * kWindow - 1ns).empty());
  EXPECT_EQ(at(repetition, kStart + 2 * kWindow).size(), 1U);
}

TEST(Repetition, while_it_goes_on_only_counts_are_told_and_calm_is_told_once) {
  Repetition repetition;
  EXPECT_EQ(passing(repetition, 100, kStart), kMost);
  EXPECT_EQ(at(repetition, kStart + kWindow).size(), 1U);
  EXPECT_EQ(passing(repetition, 200, kStart + kWindow), 0U);
  auto told = at(repetition, kStart + 2 * kWindow);
  ASSERT_EQ(told.size(), 1U);
  EXPECT_EQ(told[0].event.sentence,
            "The pH probe does not answer. ... 200 more like it within 10 min.");
  EXPECT_EQ(passing(repetition, kMost, kStart + 2 * kWindow), 0U);
  told = at(repetition, kStart + 3 * kWindow);
  ASSERT_EQ(told.size(), 1U);
  EXPECT_EQ(told[0].event.sentence,
            "The pH probe does not answer. ... 12 more like it within 10 min. Each is told again "
            "from now on.");
  EXPECT_EQ(passing(repetition, kMost, kStart + 3 * kWindow), kMost);
  EXPECT_TRUE(at(repetition, kStart + 4 * kWindow).empty());
}

TEST(Repetition, one_more_than_the_most_in_a_flooded_window_is_no_calm) {
  Repetition repetition;
  EXPECT_EQ(passing(repetition, 100, kStart), kMost);
  EXPECT_EQ(at(repetition, kStart + kWindow).size(), 1U);
  EXPECT_EQ(passing(repetition, kMost + 1, kStart + kWindow), 0U);
  EXPECT_EQ(at(repetition, kStart + 2 * kWindow).size(), 1U);
  EXPECT_EQ(passing(repetition, 1, kStart + 2 * kWindow), 0U);
}

TEST(Repetition, silence_after_a_flood_is_told_too) {
  Repetition repetition;
  EXPECT_EQ(passing(repetition, 100, kStart), kMost);
  EXPECT_EQ(at(repetition, kStart + kWindow).size(), 1U);
  const auto told = at(repetition, kStart + 2 * kWindow);
  ASSERT_EQ(told.size(), 1U);
  EXPECT_EQ(told[0].event.sentence,
            "The pH probe does not answer. ... no more like it within 10 min. Each is told again "
            "from now on.");
  EXPECT_TRUE(at(repetition, kStart + 3 * kWindow).empty());
}

TEST(Repetition, stations_and_codes_are_counted_apart) {
  Repetition repetition;
  EXPECT_EQ(passing(repetition, kMost + 1, kStart), kMost);
  EXPECT_TRUE(repetition.passes("lagoon", event(), kStart));
  station::Event other = event();
  other.code = "probe-answers";
  EXPECT_TRUE(repetition.passes("reef", other, kStart));
  EXPECT_FALSE(repetition.passes("reef", event(), kStart));
}

TEST(Repetition, an_alert_always_passes) {
  Repetition repetition;
  EXPECT_EQ(passing(repetition, 1000, kStart), kMost);
  for (int i = 0; i < 1000; ++i) {
    ASSERT_TRUE(repetition.passes("reef", event(station::Severity::alert), kStart));
  }
  const auto told = at(repetition, kStart + kWindow);
  ASSERT_EQ(told.size(), 1U);
  EXPECT_EQ(told[0].event.sentence,
            "The pH probe does not answer. ... 988 more like it within 10 min.");
}

// A pulse a minute is the most there is, told a second late at times.
TEST(Repetition, a_pulse_a_minute_is_never_left_out) {
  Repetition repetition;
  station::Event pulse = event(station::Severity::info);
  pulse.code = "pulse-given";
  for (Duration t{0}; t < 24h; t += 1s) {
    EXPECT_TRUE(at(repetition, kStart + t).empty());
    if (t % 60s == 0s || t % 600s == 599s) {
      ASSERT_TRUE(repetition.passes("reef", pulse, kStart + t));
    }
  }
}

TEST(Repetition, at_the_end_of_the_program_no_count_is_lost) {
  Repetition repetition;
  EXPECT_EQ(passing(repetition, kMost + 3, kStart), kMost);
  const auto told = repetition.all(WallTime{7s});
  ASSERT_EQ(told.size(), 1U);
  EXPECT_EQ(told[0].event.at, WallTime{7s});
  EXPECT_EQ(told[0].event.sentence,
            "The pH probe does not answer. ... 3 more like it within 10 min.");
  EXPECT_TRUE(repetition.all(WallTime{7s}).empty());
}

}  // namespace
}  // namespace limegate::app
