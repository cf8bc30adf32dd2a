// Rules only withhold, over lives too: beside a station that runs on undisturbed and has given the
// same doses, one that is restarted, or that lost what it knew, permits no more.

#include <memory>
#include <random>
#include <string>

#include <gtest/gtest.h>

#include "station/bench.h"

namespace limegate::station {
namespace {

using namespace std::chrono_literals;  // NOLINT(google-build-using-namespace): literals only

/// What a restart takes away beside the memory.
enum class Lost { nothing, course, effect, seen, record };

/// The water and the stirrer that both stations see, as restless as no tank is.
class Water {
 public:
  explicit Water(std::uint64_t seed) : random_(seed) {}

  void second() {
    if (--slope_lasts_ <= 0) {
      const double slopes[] = {0.0, 0.02, 0.05, 0.1, 0.3, chance(6) ? 1.5 : 0.0};
      const bool up = chance(2) ? chance(2) : true_ph_ < 8.2;
      slope_per_s_ = (up ? 1.0 : -1.0) * slopes[below(6)] / 3600.0;
      slope_lasts_ = 300 + below(3000);
    }
    true_ph_ += slope_per_s_;
    if (true_ph_ > 8.65 || true_ph_ < 7.95) {
      slope_lasts_ = 0;
    }
    if (--silent_ <= -1800 - below(6000)) {
      silent_ = below(chance(4) ? 1500 : 90);
    }
    running_ = (++second_ / 60) % 120 < 15;
  }
  [[nodiscard]] std::optional<double> ph() {
    return silent_ > 0 ? std::nullopt : std::optional{true_ph_ + 0.003 * normal_(random_)};
  }
  [[nodiscard]] bool stirs() const { return running_; }
  int below(int bound) { return static_cast<int>(random_() % static_cast<std::uint64_t>(bound)); }
  bool chance(int one_in) { return below(one_in) == 0; }

 private:
  std::mt19937_64 random_;
  std::normal_distribution<double> normal_;
  double true_ph_ = 8.2, slope_per_s_ = 0.0;
  int slope_lasts_ = 0, silent_ = 0, second_ = 0;
  bool running_ = false;
};

Settings settings_of_both() {
  Settings settings = Bench::observed();
  // Nothing is planned, so that both give the same doses: those that a person asks for.
  settings.plan.day_volume = Millilitres{};
  settings.reference = Ph{8.2};
  return settings;
}

History begun_with() {
  History history;
  history.usual_course.fill({8.2, 14});
  history.effect = {1.0, EffectCheck::kMemoryDays};
  history.lifetime_before_boot = Duration{};
  return history;
}

History after_life(const Bench& bench, Lost lost) {
  History history = bench.history();
  switch (lost) {
    case Lost::nothing:
      break;
    case Lost::course:
      history.usual_course = {};
      break;
    case Lost::effect:
      history.effect = {};
      history.anchor = {};
      break;
    case Lost::seen:
      history.seen.reset();
      break;
    case Lost::record:
      history.usual_course = {};
      history.effect = {};
      history.seen.reset();
      history.latches.emplace_back("record");
      history.doses.push_back(
          {-1, {bench.now.mono.time_since_epoch(), bench.now.wall}, Millilitres{1e6}});
      break;
  }
  return history;
}

/// Holds that need what was learned, or seen before: without it the plain limit of a climb stands
/// in their place, the one named exception.
bool needs_what_was_learned(const std::string& code) {
  return code == "ph-unusual-climb" || code == "ph-climb-goes-on" || code == "ph-risen";
}

struct Seen {
  int restarts = 0, open = 0, attended = 0;
};

/// What counts as given, and what a day is to get: a life frees nothing of either.
void compare_volumes(const Status& lives, const Status& undisturbed) {
  constexpr double rounding = 1e-6;
  ASSERT_GE(lives.given_hour.count(), undisturbed.given_hour.count() - rounding);
  ASSERT_GE(lives.given_day.count(), undisturbed.given_day.count() - rounding);
  ASSERT_LE(lives.day_volume_in_force.count(), undisturbed.day_volume_in_force.count() + rounding);
}

void live(std::uint64_t seed, Seen& seen) {
  Water water{seed};
  const Moment start{Instant{100h}, WallTime{500000h}};
  Bench undisturbed{settings_of_both(), begun_with(), start};
  auto lives = std::make_unique<Bench>(settings_of_both(), begun_with(), start);
  undisturbed.samples = lives->samples = false;
  bool falls_back = false;
  for (int second = 0; second < 12 * 3600; ++second) {
    water.second();
    const auto ph = water.ph();
    for (Bench* bench : {&undisturbed, lives.get()}) {
      bench->see(ProbeSample{rules::Role::ph, ph});
      bench->see(ProbeSample{rules::Role::temperature, 25.0 + 0.05 * (second / 60 % 2)});
      bench->see(StirrerSample{water.stirs()});
      bench->second();
    }
    ASSERT_NO_FATAL_FAILURE(
        compare_volumes(lives->core.status(lives->now), undisturbed.core.status(undisturbed.now)))
        << "seed " << seed << ", second " << second;
    if (lives->core.gate_open()) {
      ++seen.open;
      for (const Status::Held& held : undisturbed.core.status(undisturbed.now).holds) {
        ASSERT_TRUE(falls_back && needs_what_was_learned(held.code))
            << "seed " << seed << ", second " << second << ": " << held.sentence;
      }
    }
    if (water.chance(1800)) {
      // A person releases what waits for one, at both.
      for (const std::string& code : undisturbed.core.latches()) {
        (void)undisturbed.command(Release{code});
        (void)lives->command(Release{code});
      }
    }
    if (lives->phase() != PumpDuty::Phase::resting ||
        undisturbed.phase() != PumpDuty::Phase::resting) {
      continue;
    }
    if (lives->core.gate_open() && water.chance(300)) {
      if (lives->command(RunAttended{Millilitres{10.0}}).verdict == Answer::Verdict::accepted) {
        ++seen.attended;
        const Answer answer = undisturbed.command(RunAttended{Millilitres{10.0}});
        ASSERT_TRUE(answer.verdict == Answer::Verdict::accepted || falls_back)
            << "seed " << seed << ", second " << second << ": " << answer.sentence;
      }
    } else if (water.chance(2400)) {
      // A lost record holds for the rest of the course.
      const auto lost = water.chance(20) ? Lost::record : static_cast<Lost>(water.below(4));
      falls_back = falls_back || lost == Lost::course || lost == Lost::record || lost == Lost::seen;
      lives = std::make_unique<Bench>(settings_of_both(), after_life(*lives, lost), lives->now);
      lives->samples = false;
      ++seen.restarts;
    }
  }
}

class WithholdOverLives : public testing::TestWithParam<std::uint64_t> {};
INSTANTIATE_TEST_SUITE_P(Seeds, WithholdOverLives, testing::Values(1, 11, 21));

TEST_P(WithholdOverLives, a_restarted_station_permits_no_more_than_one_that_ran_on) {
  Seen seen;
  for (std::uint64_t seed = GetParam(); seed < GetParam() + 10; ++seed) {
    ASSERT_NO_FATAL_FAILURE(live(seed, seen));
  }
  EXPECT_GT(seen.restarts, 50);
  EXPECT_GT(seen.open, 4000);
  EXPECT_GT(seen.attended, 10);
}

// Paused, so that both have given the same whatever they planned.
TEST_P(WithholdOverLives, a_restarted_station_plans_no_more_than_one_that_ran_on) {
  std::mt19937_64 random{GetParam()};
  Settings settings = Bench::observed();
  settings.pump_rate_dated = false;
  Bench undisturbed{settings, begun_with()};
  auto lives = std::make_unique<Bench>(settings, begun_with());
  int halved = 0;
  for (int step = 0; step < 400; ++step) {
    const Millilitres volume{static_cast<double>(random() % 720)};
    const Origin origin = random() % 2 == 0 ? Origin::station : Origin::afar;
    for (Bench* bench : {&undisturbed, lives.get()}) {
      (void)bench->command(Pause{48h});
      if (step % 3 == 0) {
        (void)bench->command(SetDayVolume{volume}, origin);
      }
      bench->run(60s);
    }
    ASSERT_NO_FATAL_FAILURE(
        compare_volumes(lives->core.status(lives->now), undisturbed.core.status(undisturbed.now)))
        << "seed " << GetParam() << ", step " << step;
    halved += lives->core.status(lives->now).halved.empty() ? 0 : 1;
    if (random() % 40 == 0) {
      const auto lost = static_cast<Lost>(random() % 4);
      lives = std::make_unique<Bench>(settings, after_life(*lives, lost), lives->now);
    }
  }
  EXPECT_GT(halved, 0);
}

}  // namespace
}  // namespace limegate::station
