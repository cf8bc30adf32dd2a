// The pH of undosed days, and the volume that is eased when pH rose far above it.

#include "station/reference.h"

#include <cmath>
#include <numbers>
#include <string>

#include <gtest/gtest.h>

#include "station/bench.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

constexpr Millilitres kDay{2000.0};

/// A day's course around pH 8.1 that was seen for so many days.
signal::DayCourse::Quarters seen_for(int days) {
  signal::DayCourse::Quarters quarters;
  for (int quarter = 0; quarter < signal::DayCourse::kQuarters; ++quarter) {
    const double turn = 2.0 * std::numbers::pi * quarter / signal::DayCourse::kQuarters;
    quarters[static_cast<std::size_t>(quarter)] = {8.1 + 0.1 * std::sin(turn), days};
  }
  return quarters;
}

std::string told(const Effects& effects) {
  std::string codes;
  for (const Effect& effect : effects) {
    if (const auto* raise = std::get_if<Raise>(&effect)) {
      codes += raise->event.code + " ";
    }
  }
  return codes;
}

class Watched {
 public:
  explicit Watched(const LearnedReference& stored = {}, std::optional<Ph> in_file = std::nullopt)
      : reference(stored, in_file, {2000h, {}}, Instant{100h}) {}

  void pass(Duration lasting, Reference::Rise rise) {
    for (const Duration end = passed + lasting; passed < end;) {
      passed += 1min;
      reference.ease({{Instant{100h + passed}, WallTime{passed}}, {2000h + passed, {}}}, rise, kDay,
                     effects);
    }
  }

  Reference reference;
  Duration passed{};
  Effects effects;
};

struct Beginning {
  const char* name;
  std::optional<Duration> undosed;
  int days_seen;
  bool recorded;
};
void PrintTo(const Beginning& row, std::ostream* out) { *out << row.name; }

class ReferenceBegins : public testing::TestWithParam<Beginning> {};

TEST_P(ReferenceBegins, is_recorded_from_undosed_days_only) {
  const Beginning& row = GetParam();
  const UsualCourse course{seen_for(row.days_seen), PhChange{0.03}};
  Reference reference{{}, std::nullopt, {}, Instant{}};
  Effects effects;
  reference.dose_begins({}, course, row.undosed, effects);
  EXPECT_EQ(reference.ph().has_value(), row.recorded);
  EXPECT_EQ(told(effects), row.recorded ? "reference-recorded " : "no-reference ");
  effects.clear();
  reference.dose_begins({}, course, row.undosed, effects);
  EXPECT_EQ(told(effects), row.recorded ? "reference-recorded " : "") << "told once";
  if (row.recorded) {
    EXPECT_NEAR(reference.ph()->count(), 8.1, 0.001);
    EXPECT_EQ(std::get<StoreReference>(effects.at(0)).learned.ph, reference.ph());
  }
}
const Beginning kBeginnings[] = {
    {"first_dose_on_the_first_day", std::nullopt, 0, false},
    {"first_dose_after_two_days", std::nullopt, 2, false},
    {"first_dose_after_three_days", std::nullopt, 3, true},
    {"first_dose_after_a_month", std::nullopt, 14, true},
    {"dosed_a_moment_ago", 1min, 14, false},
    {"dosed_just_within_the_days_seen", 72h - 1s, 4, false},
    {"dosed_just_before_the_days_seen", 72h, 4, true},
    {"dosed_within_the_days_remembered", 13 * 24h - 1s, 14, false},
    {"dosed_before_the_days_remembered", 13 * 24h, 14, true},
    {"dosed_in_the_future", -1h, 3, false},
};
INSTANTIATE_TEST_SUITE_P(, ReferenceBegins, testing::ValuesIn(kBeginnings),
                         [](const auto& row) { return std::string{row.param.name}; });

TEST(Reference, of_the_file_goes_before_what_was_recorded) {
  const Watched watched{{Ph{8.1}, 1.0, {}}, Ph{8.0}};
  EXPECT_EQ(watched.reference.ph(), Ph{8.0});
}

TEST(Reference, that_no_version_of_ours_stored_is_none) {
  const double nan = std::nan("");
  for (const LearnedReference& stored :
       {LearnedReference{Ph{nan}, nan, {}}, LearnedReference{Ph{3.0}, 0.0, {}},
        LearnedReference{Ph{12.0}, 1.5, {}}}) {
    const Watched watched{stored};
    EXPECT_FALSE(watched.reference.ph());
    EXPECT_EQ(watched.reference.share(), 1.0);
  }
}

constexpr auto kRisen = Reference::Rise::far_above;
constexpr auto kCalm = Reference::Rise::none;
constexpr auto kUnknown = Reference::Rise::unknown;

TEST(Reference, a_rise_of_an_hour_eases_the_volume_by_a_quarter_and_says_so) {
  Watched watched;
  watched.pass(1h, kRisen);
  EXPECT_EQ(watched.reference.share(), 1.0);
  watched.pass(1min, kRisen);
  EXPECT_DOUBLE_EQ(watched.reference.share(), 0.75);
  EXPECT_EQ(told(watched.effects), "volume-eased ");
  EXPECT_NE(std::get<Raise>(watched.effects.back()).event.sentence.find("1500.0 of 2000.0 mL"),
            std::string::npos);
  watched.pass(47h, kRisen);
  EXPECT_DOUBLE_EQ(watched.reference.share(), 0.75) << "held meanwhile: nothing is dosed";
}

TEST(Reference, a_glitch_eases_nothing) {
  Watched watched;
  for (int day = 0; day < 5; ++day) {
    watched.pass(59min, kRisen);
    watched.pass(1min, kUnknown);
    watched.pass(23h, kCalm);
  }
  EXPECT_EQ(watched.reference.share(), 1.0);
}

TEST(Reference, rises_ease_it_once_a_day_at_the_most) {
  Watched watched;
  for (int time = 0; time < 8; ++time) {
    watched.pass(2h, kRisen);
    watched.pass(1h, kCalm);
  }
  EXPECT_DOUBLE_EQ(watched.reference.share(), 0.75);
  watched.pass(3h, kRisen);
  EXPECT_DOUBLE_EQ(watched.reference.share(), 0.75 * 0.75);
}

TEST(Reference, calm_days_step_the_volume_up_again) {
  Watched watched;
  watched.pass(30h, kRisen);
  watched.pass(24h - 1min, kCalm);
  EXPECT_DOUBLE_EQ(watched.reference.share(), 0.75);
  watched.pass(1min, kCalm);
  EXPECT_DOUBLE_EQ(watched.reference.share(), 0.80);
  watched.pass(24h, kCalm);
  EXPECT_DOUBLE_EQ(watched.reference.share(), 0.85);
  watched.pass(10 * 24h, kCalm);
  EXPECT_EQ(watched.reference.share(), 1.0);
  EXPECT_EQ(told(watched.effects),
            "volume-eased volume-stepped-up volume-stepped-up volume-stepped-up volume-stepped-up "
            "volume-stepped-up ");
}

TEST(Reference, while_no_rise_could_be_seen_no_day_is_calm) {
  Watched watched;
  watched.pass(2h, kRisen);
  watched.pass(20h, kCalm);
  watched.pass(14 * 24h, kUnknown);
  EXPECT_DOUBLE_EQ(watched.reference.share(), 0.75);
  watched.pass(4h, kCalm);
  EXPECT_DOUBLE_EQ(watched.reference.share(), 0.80);
}

TEST(Reference, a_restart_neither_eases_twice_nor_steps_up_early) {
  const LearnedReference stored{Ph{8.1}, 0.75, {2000h - 30h, {}}};
  Watched risen{stored};
  risen.pass(6min, kUnknown);  // no reading yet
  risen.pass(30h, kRisen);
  EXPECT_DOUBLE_EQ(risen.reference.share(), 0.75) << "nobody knows whether it is a new one";
  Watched calm{stored};
  calm.pass(59min, kCalm);
  EXPECT_DOUBLE_EQ(calm.reference.share(), 0.75);
  calm.pass(2min, kCalm);
  EXPECT_DOUBLE_EQ(calm.reference.share(), 0.80);
}

TEST(Reference, a_step_up_does_not_keep_a_new_rise_from_easing) {
  Watched watched;
  watched.pass(2h, kRisen);
  watched.pass(24h, kCalm);
  ASSERT_DOUBLE_EQ(watched.reference.share(), 0.80);
  watched.pass(2h, kRisen);
  EXPECT_DOUBLE_EQ(watched.reference.share(), 0.60);
}

TEST(Reference, a_change_from_the_future_counts_as_just_now) {
  Watched watched{{Ph{8.1}, 0.5, {2000h + 100h, {}}}};
  watched.pass(24h - 1min, kCalm);
  EXPECT_DOUBLE_EQ(watched.reference.share(), 0.5);
  watched.pass(1min, kCalm);
  EXPECT_DOUBLE_EQ(watched.reference.share(), 0.55);
}

/// A learned course at pH 8.20 and a reference of 8.00 in the file: the bench's usual pH of 8.20 is
/// 0.20 above it.
Settings with_reference(double ph) {
  Settings settings = Bench::usual();
  settings.reference = Ph{ph};
  return settings;
}
History with_course() {
  History history;
  history.usual_course.fill({8.2, 14});
  return history;
}

TEST(StationReference, a_rise_above_it_holds_and_the_next_window_is_smaller) {
  Bench bench{with_reference(7.95), with_course()};
  bench.run(3h);
  EXPECT_TRUE(bench.held_for("ph-risen"));
  EXPECT_EQ(bench.count<AppendPulse>(), 0U);
  const Status risen = bench.core.status(bench.now);
  EXPECT_DOUBLE_EQ(risen.volume_share, 0.75);
  EXPECT_NEAR(risen.above_reference->count(), 0.255, 0.006);
  bench.ph -= 0.15;
  const auto pulse = bench.until<AppendPulse>(5h);
  ASSERT_TRUE(pulse);
  EXPECT_FALSE(bench.held_for("ph-risen"));
  EXPECT_DOUBLE_EQ(pulse->pulse.volume.count(), 22.5) << "three quarters of 30 mL";
}

TEST(StationReference, no_relearning_passes_its_hold) {
  Bench bench{with_reference(7.95), with_course()};
  bench.run(2h);
  ASSERT_TRUE(bench.held_for("ph-risen"));
  EXPECT_EQ(bench.command(Relearn{}).verdict, Answer::Verdict::refused);
  bench.ph -= 0.15;
  bench.run(2h);
  EXPECT_EQ(bench.command(Relearn{}).verdict, Answer::Verdict::accepted);
}

TEST(StationLedger, what_was_latched_and_learned_while_it_could_not_be_written_is_written_after) {
  History history = with_course();
  history.reference = {Ph{8.1}, 0.75, {}};
  Bench bench{Bench::usual(), history};
  bench.run(10min);
  bench.see(LedgerFault{"disk full"});
  bench.ph = 8.65;
  bench.run(10min);
  ASSERT_EQ(bench.core.latches(), std::vector<std::string>{"ph-second-ceiling"});
  const std::size_t before = bench.count<StoreLatch>();
  bench.see(LedgerSound{});
  EXPECT_EQ(bench.count<StoreLatch>(), before + 1);
  EXPECT_EQ(bench.newest<StoreLatch>()->code, "ph-second-ceiling");
  EXPECT_EQ(bench.newest<StoreReference>()->learned.share, 0.75);
}

TEST(StationReference, without_one_nothing_is_held_and_the_first_dose_tells_it) {
  Bench bench{Bench::usual(), with_course()};
  ASSERT_TRUE(bench.until<AppendPulse>());
  EXPECT_TRUE(bench.core.status(bench.now).reference) << "the course is of undosed days";
  Bench young;
  ASSERT_TRUE(young.until<AppendPulse>());
  EXPECT_FALSE(young.core.status(young.now).reference);
  EXPECT_FALSE(young.held_for("ph-risen"));
}

}  // namespace
}  // namespace limegate::station
